"""A machine changes hands: its record out of one shop and into another."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils.text import slugify

from machines.register.forms import TakeOverForm
from machines.register.handover import hand_over, take_over
from machines.register.models import Machine
from shop.people.access import demand_owner, find
from shop.people.models import Shop
from shop.records.archive.answer import package_answer
from shop.web.errors import Refused
from shop.web.site_key import in_groups, public_key


def hand_over_machine(request, pk):
    """Say what goes and what stays; sent, it answers with the file."""
    found = find(Machine.objects.select_related("shop"), request.user, pk=pk)
    demand_owner(request.user, found.shop)
    refusal = ""
    if request.method == "POST":
        name = f"machine-{slugify(found.number) or found.pk}.zip"
        try:
            return package_answer(lambda file: hand_over(found, file), name)
        except Refused as error:
            refusal = str(error)
    return render(
        request,
        "machines/hand_over.html",
        {"machine": found, "refusal": refusal, "site_key": in_groups(public_key())},
    )


def take_over_machine(request, pk):
    """Take the record of a machine into a shop."""
    shop = find(Shop.objects, request.user, pk=pk)
    demand_owner(request.user, shop)
    form = TakeOverForm(request.POST or None, request.FILES or None)
    if form.is_valid():
        try:
            machine = take_over(shop=shop, **form.cleaned_data)
            messages.success(request, f"Machine {machine} is here with its record.")
            return redirect(machine)
        except Refused as refusal:
            form.add_error("file", str(refusal))
    return render(request, "machines/take_over.html", {"shop": shop, "form": form})
