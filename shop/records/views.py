"""Taking a whole shop out."""

from django.shortcuts import render
from django.utils.text import slugify

from shop.people.access import demand_owner, find
from shop.people.models import Shop
from shop.web.errors import Refused
from shop.web.site_key import in_groups, public_key

from .archive.answer import package_answer
from .archive.taking_out import take_out


def export_shop(request, pk):
    """Say what goes and what stays; sent, it answers with the archive."""
    shop = find(Shop.objects, request.user, pk=pk)
    demand_owner(request.user, shop)
    refusal = ""
    if request.method == "POST":
        name = f"{slugify(shop.name) or shop.pk}.zip"
        try:
            return package_answer(lambda file: take_out(shop, file, shop=shop.name), name)
        except Refused as error:
            refusal = str(error)
    return render(
        request,
        "shop/take_out.html",
        {"shop": shop, "refusal": refusal, "site_key": in_groups(public_key())},
    )
