"""Pages of what a visit is charged with, until its statement is issued."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from shop.billing import services
from shop.billing.forms import ChargeForm, FirstPriceForm, FixedPriceForm
from shop.billing.models import Charge
from shop.people.access import CONTRACTOR, demand, find
from shop.people.editing import editing, stamped
from shop.people.models import billed_to
from shop.visits.models import Visit
from shop.web.errors import Refused

CHARGES = Charge.objects.select_related("visit__shop", "visit__firm", "tax")


def concerned_visit(request, pk, *, change=False):
    """A visit whose money concerns the person; only its own firm's contractor changes it."""
    visits = Visit.objects.select_related("shop", "firm", "contractor")
    visit = find(visits.filter(billed_to(request.user)), request.user, pk=pk)
    if change:
        demand(request.user, visit.shop, CONTRACTOR)
    return visit


def charges(request, pk):
    """The lines of a visit, what they come to, and what it knows that is not charged yet."""
    visit = concerned_visit(request, pk, change=True)
    statement = visit.statements.in_effect().first()
    if statement is not None:
        return redirect(statement)
    try:
        drawn, trouble = services.draw_up(visit), ""
    except Refused as refusal:
        drawn, trouble = None, str(refusal)
    context = {
        "visit": visit,
        "drawn": drawn,
        "trouble": trouble,
        "lines": visit.charges.select_related("tax"),
        "waiting": services.not_charged_yet(visit),
        "fixed": FixedPriceForm(firm=visit.firm),
        "credited": visit.statements.statements(),
        "first_price": None
        if visit.firm.tax_categories.exists()
        else FirstPriceForm(firm=visit.firm),
    }
    return render(request, "shop/charges.html", context)


@require_POST
def first_price(request, pk):
    """Enter a firm's first price and its tax, and charge the visit by them."""
    visit = concerned_visit(request, pk, change=True)
    form = FirstPriceForm(request.POST, firm=visit.firm)
    if form.is_valid():
        try:
            services.begin_prices(form.instance, form.cleaned_data["hour"])
            services.fill_in(visit, made_by=request.user)
            return redirect("shop:charges", pk=visit.pk)
        except Refused as refusal:
            form.add_error(None, str(refusal))
    return render(request, "shop/charges.html", {"visit": visit, "first_price": form})


@require_POST
def fill_in(request, pk):
    """Take over what the visit knows."""
    visit = concerned_visit(request, pk, change=True)
    try:
        changed = services.fill_in(visit, made_by=request.user)
        messages.success(request, f"{changed} line{'s' * (changed != 1)} filled in.")
    except Refused as refusal:
        messages.error(request, str(refusal))
    return redirect("shop:charges", pk=visit.pk)


@require_POST
def add_fixed(request, pk):
    """Add something from the firm's price list."""
    visit = concerned_visit(request, pk, change=True)
    form = FixedPriceForm(request.POST, firm=visit.firm)
    if not form.is_valid():
        messages.error(request, "Choose something from the price list and a quantity above zero.")
        return redirect("shop:charges", pk=visit.pk)
    rate = form.cleaned_data["rate"]
    try:
        services.add_charge(
            visit,
            made_by=request.user,
            entry_id=form.cleaned_data["entry_id"],
            kind=Charge.Kind.FIXED,
            text=rate.name,
            quantity=form.cleaned_data["quantity"],
            unit=rate.unit,
            price=rate.price,
            tax=rate.tax,
        )
    except Refused as refusal:
        messages.error(request, str(refusal))
    return redirect("shop:charges", pk=visit.pk)


def add(request, pk):
    """Enter a line by hand."""
    visit = concerned_visit(request, pk, change=True)
    form = ChargeForm(request.POST or None, firm=visit.firm)
    if form.is_valid():
        try:
            services.add_charge(visit, made_by=request.user, **form.cleaned_data)
            return redirect("shop:charges", pk=visit.pk)
        except Refused as refusal:
            form.add_error(None, str(refusal))
    return render(request, "shop/charge.html", {"visit": visit, "form": form})


@editing
def edit(request, pk):
    """Change a line."""
    found = _charge(request, pk)
    form = ChargeForm(request.POST or None, firm=found.visit.firm, instance=found)
    stamped(request, form, found)
    if form.is_valid():
        given = {name: form.cleaned_data[name] for name in ChargeForm.Meta.fields}
        try:
            services.edit_charge(found, **given)
            return redirect("shop:charges", pk=found.visit_id)
        except Refused as refusal:
            form.add_error(None, str(refusal))
    return render(request, "shop/charge.html", {"visit": found.visit, "form": form, "line": found})


@require_POST
def remove(request, pk):
    """Take a line out, or (with `back` sent) put one back that was left out."""
    found = _charge(request, pk)
    change = services.put_back if "back" in request.POST else services.remove_charge
    try:
        change(found)
    except Refused as refusal:
        messages.error(request, str(refusal))
    return redirect("shop:charges", pk=found.visit_id)


def _charge(request, pk):
    found = find(CHARGES, request.user, pk=pk)
    demand(request.user, found.visit.shop, CONTRACTOR)
    return found
