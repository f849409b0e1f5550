"""Pages of the parts register, and of what to bring to a visit."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from machines.drive.models import Part
from machines.drive.parts.forms import KeeperForm, PartForm, PartListForm
from machines.drive.parts.keepers import keepers_for, may_write
from machines.drive.parts.services import bring_in
from machines.drive.tables import PartTable
from shop.people.access import find
from shop.people.editing import editing, stamped
from shop.web.errors import Refused
from shop.web.idempotency import sent_once, with_id
from shop.web.listing import arrange, csv_of, wants_csv

PARTS = Part.objects.select_related("shop", "firm")


@require_safe
def parts(request):
    """Every part the person may see; taken out as CSV in the form in which a list comes in."""
    table = arrange(request, PartTable(PARTS.visible_to(request.user).distinct()))
    if wants_csv(request):
        return csv_of(table, "parts")
    return render(
        request,
        "machines/parts.html",
        {"table": table, "may_write": bool(keepers_for(request.user))},
    )


@require_safe
def part(request, pk):
    """One part: price, stock, and where it is used."""
    found = find(PARTS.distinct(), request.user, pk=pk)
    return render(
        request,
        "machines/part.html",
        {
            "part": found,
            "belts": found.belts.visible_to(request.user).select_related("machine__shop"),
            "bearings": found.bearings.visible_to(request.user).select_related("machine__shop"),
            "advice": found.recommendations.open()
            .visible_to(request.user)
            .select_related("machine__shop"),
            "may_write": may_write(request.user, found),
        },
    )


@sent_once
def new_part(request):
    """Put a part into a register the person may write in."""
    keepers = _keepers(request)
    keeper_form = KeeperForm(request.POST or None, keepers=keepers)
    keeper = keeper_form.chosen if keeper_form.is_valid() else keepers[0]
    form = with_id(PartForm(request.POST or None, keeper=keeper))
    if keeper_form.is_valid() and form.is_valid():
        return redirect(form.save())
    return render(request, "machines/part_form.html", {"form": form, "keeper_form": keeper_form})


@editing
def edit_part(request, pk):
    found = find(PARTS.distinct(), request.user, pk=pk)
    if not may_write(request.user, found):
        raise PermissionDenied
    form = stamped(request, PartForm(request.POST or None, instance=found), found)
    if form.is_valid():
        return redirect(form.save())
    return render(request, "machines/part_form.html", {"form": form, "part": found})


def import_parts(request):
    """Import a list: shown first with what becomes of each line, then imported."""
    form = PartListForm(request.POST or None, request.FILES or None, keepers=_keepers(request))
    context = {"form": form, "rows": None}
    if form.is_valid():
        if "confirmed" in request.POST and _imported(request, form):
            return redirect("machines:parts")
        rows = form.cleaned_data["rows"]
        context |= {
            "rows": rows,
            "keeper": form.chosen,
            "text": form.cleaned_data["text"],
            "wrong": sum(bool(row.wrong) for row in rows),
        }
    return render(request, "machines/bring_in_parts.html", context)


def _imported(request, form):
    """Whether the list is imported; a refusal is said on the form."""
    try:
        rows = bring_in(form.chosen, form.cleaned_data["text"])
    except (Refused, ValueError) as error:
        form.add_error("file", str(error))
        return False
    count = sum(row.becomes != "as it was" for row in rows)
    messages.success(request, f"{count} of {len(rows)} parts are new or changed.")
    return True


def _keepers(request):
    keepers = keepers_for(request.user)
    if not keepers:
        raise PermissionDenied
    return keepers
