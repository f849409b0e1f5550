"""The acceptance sheets of a machine: listed, typed, brought in, put in force, and their scans."""

from django.contrib import messages
from django.db.models import Count
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST, require_safe

from alignment.sheets.forms import ScanForm, SheetForm, SheetListForm
from alignment.sheets.line_forms import LineFormSet, first_lines, with_more_lines
from alignment.sheets.models import AcceptanceItem, AcceptanceSheet, SheetScan
from alignment.sheets.scans import given_out
from alignment.sheets.services import attach_scan, enter_sheet, put_in_force
from alignment.sheets.tables import SheetsTable, SheetTable
from alignment.sweeps.check_sheet import POINTS, issue_check_sheet
from alignment.sweeps.left import figures_left
from machines.register.models import Machine
from shop.people.access import DESK, demand, find, role_at
from shop.visits.models import Visit
from shop.web.errors import Refused
from shop.web.listing import arrange, csv_of, wants_csv, whole_number

MACHINES = Machine.objects.select_related("shop").with_stop_state()
SHEETS = AcceptanceSheet.objects.select_related("machine__shop", "made_by")
MORE, BRING_IN = "more", "bring_in"


@require_GET
def sheet(request, pk):
    """The acceptance sheet in force, line by line."""
    machine = find(MACHINES, request.user, pk=pk)
    found = machine.sheets.select_related("made_by").filter(is_current=True).first()
    return _sheet_page(request, machine, found)


@require_GET
def one_sheet(request, pk):
    """One acceptance sheet, in force or kept, line by line."""
    found = find(SHEETS, request.user, pk=pk)
    return _sheet_page(request, found.machine, found)


def _sheet_page(request, machine, found):
    items = AcceptanceItem.objects.filter(sheet=found).select_related("station__datum")
    table = arrange(request, SheetTable(items, unit=request.user.length_unit))
    if wants_csv(request):
        return csv_of(table, f"{machine.number} acceptance sheet, lengths in µm")
    context = _at(machine) | {"sheet": found, "table": table}
    context["turned"] = list(items.filter(turned=True).values_list("name", flat=True))
    context["scans"] = found.scans.select_related("made_by") if found else []
    context["may_change"] = role_at(request.user, machine.shop) in DESK
    return render(request, "alignment/sheet.html", context)


@require_GET
def sheets(request, pk):
    """Every acceptance sheet of a machine."""
    machine = find(MACHINES, request.user, pk=pk)
    rows = machine.sheets.select_related("made_by").annotate(
        lines=Count("items", distinct=True), scan_count=Count("scans", distinct=True)
    )
    table = arrange(request, SheetsTable(rows))
    if wants_csv(request):
        return csv_of(table, f"{machine.number} acceptance sheets")
    may_change = role_at(request.user, machine.shop) in DESK
    context = _at(machine) | {"table": table, "may_change": may_change}
    return render(request, "alignment/sheets.html", context)


def new_sheet(request, pk):
    """Type a sheet; it may start from the lines of another one of the machine."""
    machine = _machine_changed(request, pk)
    unit = request.user.length_unit
    if request.method == "POST":
        data = with_more_lines(request.POST) if MORE in request.POST else request.POST
        form = SheetForm(data)
        lines = LineFormSet(data, machine=machine, unit=unit)
        whole = MORE not in request.POST
        valid = whole and all([form.is_valid(), lines.is_valid()])
        if valid and (entered := _entered(request, machine, form, lines.lines)):
            return redirect(entered)
    else:
        whole = False
        form, lines = _fresh(request, machine, unit)
    context = _at(machine) | {"form": form, "lines": lines, "whole": whole}
    context["copied_from"] = machine.sheets.filter(items__in=_with_limit(machine)).distinct()
    return render(request, "alignment/new_sheet.html", context)


def _fresh(request, machine, unit):
    """(form, lines) of a fresh page: from the sheet named, from what a visit left, or from lines
    that still wait for their limits."""
    sheets = AcceptanceSheet.objects.filter(machine=machine)
    if (pk := whole_number(request.GET.get("left", ""))) is not None:
        visit = find(Visit.objects.select_related("shop"), request.user, pk=pk, shop=machine.shop)
        copied, left = sheets.filter(is_current=True).first(), figures_left(machine, visit)
        day = visit.arrived_at and visit.arrived_at.astimezone(machine.shop.zone).date()
        said = {"name": f"As left at visit {visit.number}", "dated": day}
    elif (pk := whole_number(request.GET.get("from", ""))) is not None:
        copied, left, said = find(sheets, request.user, pk=pk), None, {}
    else:
        waiting = sheets.filter(is_current=True).exclude(items__in=_with_limit(machine)).first()
        copied, left = waiting, None
        said = {"name": "Factory sheet"} if waiting else {}
    lines = first_lines(machine, copied, unit, left)
    return SheetForm(initial=said), LineFormSet(machine=machine, unit=unit, initial=lines)


def _with_limit(machine):
    return AcceptanceItem.objects.with_limit().filter(sheet__machine=machine)


def import_sheet(request, pk):
    """Bring in a sheet as a list: first each line's fate is shown, then all are saved or none."""
    machine = _machine_changed(request, pk)
    form = SheetListForm(
        request.POST or None,
        request.FILES or None,
        machine=machine,
        initial={"unit": request.user.length_unit},
    )
    if not form.is_valid():
        return render(request, "alignment/bring_in_sheet.html", _at(machine) | {"form": form})
    rows = form.cleaned_data["rows"]
    wrong = [row for row in rows if row.wrong]
    wanted = BRING_IN in request.POST and not wrong
    if wanted and (entered := _entered(request, machine, form, [row.line for row in rows])):
        return redirect(entered)
    context = {"form": form, "rows": rows, "wrong": wrong, "text": form.cleaned_data["text"]}
    context["unit"] = request.user.length_unit
    return render(request, "alignment/preview_sheet.html", _at(machine) | context)


def _entered(request, machine, form, lines):
    """The sheet; None when it was refused, which the form then says."""
    try:
        entered = enter_sheet(machine=machine, lines=lines, made_by=request.user, **form.account())
    except Refused as refusal:
        form.add_error("name", str(refusal))
        return None
    messages.success(
        request, f"Saved {entered}{', in force from now on' if entered.is_current else ''}."
    )
    return entered


@require_POST
def put_sheet_in_force(request, pk):
    """Hold the machine against this sheet from now on."""
    found = _sheet_changed(request, pk)
    try:
        put_in_force(found)
        messages.success(request, f"{found} is in force for machine {found.machine.number}.")
    except Refused as refusal:
        messages.error(request, str(refusal))
    return redirect(found)


def new_scan(request, pk):
    """Attach a scan of the paper to a sheet."""
    found = _sheet_changed(request, pk)
    form = ScanForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        file, kind = form.cleaned_data["scan"]
        given = {"file": file, "kind": kind, "entry_id": form.cleaned_data["entry_id"]}
        attach_scan(sheet=found, made_by=request.user, **given)
        messages.success(request, "The scan is attached.")
        return redirect(found)
    context = _at(found.machine) | {"sheet": found, "form": form}
    return render(request, "alignment/new_scan.html", context)


@require_POST
def blank_check_sheet(request, pk):
    """Issue a blank check sheet of the machine's chain, to be written on at the machine."""
    machine = find(MACHINES, request.user, pk=pk)
    points = request.POST.get("points", "4")
    membership = request.user.memberships.current().select_related("firm").get(shop=machine.shop)
    document = issue_check_sheet(
        machine,
        firm=membership.firm,
        unit=request.user.length_unit,
        points=points if points in POINTS else "4",
    )
    return redirect(document)


@require_safe
def scan(request, pk):
    """The scan itself as a download, for those who may see its machine."""
    return given_out(find(SheetScan.objects, request.user, pk=pk))


def _at(machine):
    return {"machine": machine, "machine_url": machine.get_absolute_url()}


def _machine_changed(request, pk):
    """The machine, for somebody who may enter its sheets."""
    machine = find(MACHINES, request.user, pk=pk)
    demand(request.user, machine.shop, DESK)
    return machine


def _sheet_changed(request, pk):
    found = find(SHEETS, request.user, pk=pk)
    demand(request.user, found.machine.shop, DESK)
    return found
