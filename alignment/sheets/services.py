"""What changes acceptance sheets."""

import hashlib
from dataclasses import replace

from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from machines.register.models import Machine
from shop.web.entries import entered_once, identified
from shop.web.errors import Refused

from .models import AcceptanceItem, AcceptanceSheet, SheetScan
from .stations import stations_named

WITHOUT_LIMITS = "Swept without limits"


@entered_once(AcceptanceSheet)
def enter_sheet(*, machine, name, lines, made_by, dated=None, in_force=True, entry_id=None):
    """Enter a sheet with all its lines; put in force, it takes the place of the one before.

    lines: `alignment.sheets.lines.SheetLine`s in the order they stand on the sheet; a station among
    them that is not saved yet is put on the machine.
    Raises Refused without lines, for a station of another machine, and for a name that another
    sheet of the machine has.
    """
    _locked(machine)
    name = name.strip()
    if not lines:
        raise Refused("A sheet needs at least one line.")
    named = [line.station for line in lines if line.station.pk]
    if foreign := [station for station in named if station.machine_id != machine.pk]:
        raise Refused(f"The {foreign[0]} belongs to another machine.")
    if machine.sheets.filter(name__iexact=name).exists():
        raise Refused(f"Machine {machine.number} has a sheet called {name} already.")
    lines = _with_stations(machine, lines)
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


def _with_stations(machine, lines):
    """The lines, each at a station on record: those that lines name first are made."""
    new = [line.station.name for line in lines if line.station.pk is None]
    made = stations_named(machine, new) if new else {}
    return [
        line if line.station.pk else replace(line, station=made[line.station.name])
        for line in lines
    ]


@transaction.atomic
def line_without_limit(station, *, made_by):
    """A line at a station to be swept for the record, where the sheet in force has none there.

    Without a sheet in force one without limits begins. Raises Refused for an ended station.
    """
    _locked(station.machine)
    if station.ended_on:
        raise Refused(f"The {station} is no longer on the machine.")
    sheet = station.machine.sheets.filter(is_current=True).first()
    if sheet is None:
        sheet = AcceptanceSheet.objects.create(
            machine=station.machine, name=WITHOUT_LIMITS, made_by=made_by
        )
    there = sheet.items.filter(station=station).first()
    if there:
        return there
    last = sheet.items.aggregate(last=Max("position"))["last"] or 0
    line = usual_line(station)
    return AcceptanceItem.objects.create(sheet=sheet, position=last + 1, **line)


def usual_line(station):
    """What is swept first at a station, as fields of a line: the master datum's own run-out,
    elsewhere where the axis sits seen from the datum (common practice, no source)."""
    if station.datum_id is None:
        quantity, name = AcceptanceItem.Quantity.TIR, "run-out"
    else:
        quantity, name = AcceptanceItem.Quantity.OFFSET, f"axis to the {station.datum}"
    return {"station": station, "name": name, "quantity": quantity}


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
