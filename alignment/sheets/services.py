"""What changes acceptance sheets."""

import hashlib

from django.db import transaction
from django.utils import timezone

from alignment.models import AcceptanceItem, AcceptanceSheet, SheetScan
from machines.models import Machine
from shop.errors import Refused
from shop.services import entered_once, identified


@entered_once(AcceptanceSheet)
def enter_sheet(*, machine, name, lines, made_by, dated=None, in_force=True, entry_id=None):
    """Enter a sheet with all its lines; put in force, it takes the place of the one before.

    lines: `alignment.sheets.lines.Line`s in the order they stand on the sheet.
    Raises Refused without lines, for a station of another machine, and for a name that another
    sheet of the machine has.
    """
    _locked(machine)
    name = name.strip()
    if not lines:
        raise Refused("A sheet needs at least one line.")
    if foreign := [line.station for line in lines if line.station.machine_id != machine.pk]:
        raise Refused(f"The {foreign[0]} belongs to another machine.")
    if machine.sheets.filter(name__iexact=name).exists():
        raise Refused(f"Machine {machine.number} has a sheet called {name} already.")
    if in_force:
        machine.sheets.update(is_current=False)
    sheet = AcceptanceSheet.objects.create(
        machine=machine,
        name=name,
        dated=dated,
        is_current=in_force,
        made_by=made_by,
        **identified(entry_id),
    )
    AcceptanceItem.objects.bulk_create(
        line.item(sheet=sheet, position=position) for position, line in enumerate(lines, start=1)
    )
    return sheet


@transaction.atomic
def put_in_force(sheet):
    """Hold the machine against this sheet from now on; what was measured keeps its own limits."""
    _locked(sheet.machine)
    if not sheet.items.exists():
        raise Refused(f"{sheet} has no lines, so nothing can be held against it.")
    sheet.machine.sheets.exclude(pk=sheet.pk).update(is_current=False)
    AcceptanceSheet.objects.filter(pk=sheet.pk).update(is_current=True)
    sheet.refresh_from_db()
    return sheet


@entered_once(SheetScan)
def attach_scan(*, sheet, file, kind, made_by, entry_id=None):
    """Attach a scan that `alignment.sheets.scans.clean_scan` let pass."""
    content = file.read()
    file.seek(0)
    scan = SheetScan(
        sheet=sheet,
        kind=kind,
        sha256=hashlib.sha256(content).hexdigest(),
        made_by=made_by,
        made_at=timezone.now(),
        **identified(entry_id),
    )
    scan.file.save(f"scan-of-{sheet.pk}", file, save=False)
    scan.save()
    return scan


def _locked(machine):
    """One at a time per machine, so that one sheet is in force after two people chose."""
    Machine.objects.select_for_update().get(pk=machine.pk)
