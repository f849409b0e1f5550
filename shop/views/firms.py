"""Pages of a service firm: what stands on its documents, its prices and its tax categories."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.shortcuts import get_object_or_404, redirect, render

from ..access import find
from ..editing import editing, stamped
from ..forms import FirmForm, RateForm, TaxCategoryForm
from ..models import Firm, Rate, TaxCategory
from ..sent import sent_once, with_id


@editing
def firm(request, pk):
    """The firm's letterhead and terms, and the lists of its prices and tax categories."""
    found = find(Firm.objects, request.user, pk=pk)
    form = FirmForm(request.POST or None, request.FILES or None, instance=found)
    stamped(request, form, found)
    if form.is_valid():
        form.save()
        messages.success(request, "Saved. Documents issued from now on say so.")
        return redirect("shop:firm", pk=found.pk)
    context = {
        "firm": found,
        "form": form,
        "rates": found.rates.select_related("tax"),
        "taxes": found.tax_categories.all(),
    }
    return render(request, "shop/firm.html", context)


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
    context = {"form": form, "firm": record.firm, "what": what, "is_new": record.pk is None}
    return render(request, "shop/firm_part.html", context)


def _fits(form, record):
    """Hold the record against the constraints that name its firm, which is not in the form."""
    try:
        record.validate_constraints()
    except ValidationError as error:
        form.add_error(None, error.messages)
        return False
    return True
