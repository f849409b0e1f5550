"""Taking a whole shop out."""

import tempfile

from django.http import FileResponse
from django.shortcuts import render
from django.utils.text import slugify

from ..access import OWNER, demand, find
from ..archive.taking_out import take_out
from ..errors import Refused
from ..models import Shop


def take_out_shop(request, pk):
    """Say what goes and what stays; sent, it answers with the archive."""
    shop = find(Shop.objects, request.user, pk=pk)
    demand(request.user, shop, OWNER)
    refusal = ""
    if request.method == "POST":
        file = tempfile.TemporaryFile()  # noqa: SIM115 - the answer closes it
        try:
            take_out(shop, file, shop=shop.name)
        except Refused as error:
            refusal = str(error)
        else:
            file.seek(0)
            name = f"{slugify(shop.name) or shop.pk}.zip"
            return FileResponse(file, as_attachment=True, filename=name)
    return render(request, "shop/take_out.html", {"shop": shop, "refusal": refusal})
