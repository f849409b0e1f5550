"""Pages of how long parts last, how often machines have incidents, and each shop's thresholds."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from machines.drive.incident_rates import rates_of
from machines.drive.lifetimes import fleet_lives
from machines.drive.models import COMMON_PRACTICE, Thresholds
from machines.drive.threshold_forms import CostsForm, ThresholdsForm
from machines.register.models import Machine
from shop.people.access import demand_owner, find, owns
from shop.people.editing import editing, stamped
from shop.people.models import Shop
from shop.snapshots import standing_of_all
from shop.web.listing import page_of


@require_safe
def lives(request):
    """Lives by type over every machine the person may see, and incidents per machine."""
    shops = Shop.objects.visible_to(request.user)
    machines = Machine.objects.visible_to(request.user)
    form = CostsForm(request.GET if {"planned", "breakdown"} & request.GET.keys() else None)
    standing = standing_of_all(shops)
    known = standing.keep(lambda: [one.known() for one in fleet_lives(machines)], "lives by type")
    ages = standing.keep(
        lambda: [one.replacement_age(*form.costs) for one in known], "cheapest ages", *form.costs
    )
    page = page_of(request, machines.select_related("shop"))
    return render(
        request,
        "machines/lives.html",
        {
            "form": form,
            "types": list(zip(known, ages, strict=True)),
            "page": page,
            "rates": rates_of(list(page)),
        },
    )


@editing
def thresholds(request, pk):
    """From when on a finding leads to advice at one shop; the owner sets it."""
    shop = find(Shop.objects, request.user, pk=pk)
    if request.method != "GET":
        demand_owner(request.user, shop)
    if request.method == "POST":
        Thresholds.objects.get_or_create(shop=shop)
    found = Thresholds.of(shop)
    form = stamped(request, ThresholdsForm(request.POST or None, instance=found), found)
    if form.is_valid():
        form.save()
        messages.success(request, "The thresholds are saved; they hold from the next look on.")
        return redirect("machines:thresholds", shop.pk)
    may_change = owns(request.user, shop)
    if not may_change:
        for field in form.fields.values():
            field.disabled = True
    return render(
        request,
        "machines/thresholds.html",
        {"form": form, "shop": shop, "may_change": may_change, "source": COMMON_PRACTICE},
    )
