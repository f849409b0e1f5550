"""Pages of a service firm: everything of it in one place, with what each part changes on paper."""

from datetime import timedelta
from decimal import Decimal

from django.contrib import messages
from django.core.exceptions import PermissionDenied, ValidationError
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_safe

from shop.billing.firm_forms import LetterheadForm, NumbersForm, RegionForm, TermsForm, TextsForm
from shop.billing.forms import RateForm, TaxCategoryForm
from shop.billing.models import Rate, TaxCategory
from shop.billing.money import percent_of
from shop.billing.notices import tell_where_money_goes
from shop.billing.number_series import SERIES, count_on, last_numbers
from shop.people.access import find
from shop.people.editing import editing, stamped
from shop.people.memberships import runs_firm
from shop.people.models import Firm
from shop.web.idempotency import sent_once, with_id

# Part of the page to its title and form.
PARTS = {
    "letterhead": ("Letterhead", LetterheadForm),
    "terms": ("Payment terms", TermsForm),
    "texts": ("Texts on papers", TextsForm),
    "region": ("Country, paper and units", RegionForm),
}
# What a customer takes to be the firm, and where the customer pays to.
OF_THOSE_WHO_RUN_IT = {"letterhead", "terms", "texts"}
HUNDRED = Decimal(100)


@require_safe
def firm(request, pk):
    """The firm in one place: a part for each thing, beside it what it changes on paper."""
    found = find(Firm.objects, request.user, pk=pk)
    today = found.today
    taxes = list(found.tax_categories.all())
    last = last_numbers(found, today.year)
    context = {
        "firm": found,
        "rates": list(found.rates.select_related("tax")),
        "taxes": taxes,
        "tax_of_hundred": percent_of(HUNDRED, taxes[0].percent) if taxes else None,
        "people": found.people.current().select_related("user").order_by("user__last_name", "pk"),
        "numbers": [(one.what, one.number(today.year, last[one.kind] + 1)) for one in SERIES],
        "due_on": today + timedelta(days=found.payment_days),
        "runs_it": runs_firm(request.user, found),
    }
    return render(request, "shop/firm.html", context)


@editing
def firm_form(request, pk, part):
    """Change one part of what stands on the firm's papers."""
    found = find(Firm.objects, request.user, pk=pk)
    if part not in PARTS:
        raise Http404("a firm has no such part")
    if part in OF_THOSE_WHO_RUN_IT and not runs_firm(request.user, found):
        raise PermissionDenied
    title, form_class = PARTS[part]
    paid_before = found.payment_note
    form = form_class(request.POST or None, request.FILES or None, instance=found)
    stamped(request, form, found)
    if form.is_valid():
        form.save()
        tell_where_money_goes(found, before=paid_before, by=request.user)
        messages.success(request, "Saved. Documents issued from now on say so.")
        return redirect("shop:firm", pk=found.pk)
    context = {"form": form, "firm": found, "heading": title}
    return render(request, "shop/firm_part.html", context)


def numbers(request, pk):
    """Let the numbers of papers count on from those of papers made elsewhere."""
    found = find(Firm.objects, request.user, pk=pk)
    form = NumbersForm(request.POST or None, firm=found)
    if form.is_valid():
        count_on(found, found.today.year, form.wanted())
        messages.success(request, "Saved. The next papers bear these numbers.")
        return redirect("shop:firm", pk=found.pk)
    context = {"form": form, "firm": found, "heading": "Numbering"}
    return render(request, "shop/firm_part.html", context)


@sent_once
def add_rate(request, pk):
    """Enter a new price."""
    return _edit(request, RateForm, Rate(firm=find(Firm.objects, request.user, pk=pk)), "a price")


@editing
def rate(request, pk):
    """Change a price; what was issued keeps the old one."""
    return _edit(request, RateForm, _of_firm(request, Rate, pk), "a price")


@sent_once
def add_tax(request, pk):
    """Enter a new tax category."""
    new = TaxCategory(firm=find(Firm.objects, request.user, pk=pk))
    return _edit(request, TaxCategoryForm, new, "a tax category")


@editing
def tax(request, pk):
    """Change a tax category; what was issued keeps the old one."""
    return _edit(request, TaxCategoryForm, _of_firm(request, TaxCategory, pk), "a tax category")


def _of_firm(request, model, pk):
    """A record of a firm the person works for, else Http404."""
    mine = model.objects.filter(firm__in=Firm.objects.visible_to(request.user))
    return get_object_or_404(mine.select_related("firm"), pk=pk)


def _edit(request, form_class, record, what):
    form = form_class(request.POST or None, instance=record)
    if record.pk:
        stamped(request, form, record)
    else:
        with_id(form)
    if form.is_valid() and _fits(form, record):
        form.save()
        return redirect("shop:firm", pk=record.firm_id)
    heading = f"{'Change' if record.pk else 'Add'} {what}"
    context = {"form": form, "firm": record.firm, "heading": heading}
    return render(request, "shop/firm_part.html", context)


def _fits(form, record):
    """Hold the record against the constraints that name its firm, which is not in the form."""
    try:
        record.validate_constraints()
    except ValidationError as error:
        form.add_error(None, error.messages)
        return False
    return True
