"""An acceptance item over its visits: for the picture, the table and the CSV file."""

import csv
from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from alignment.geometry.frame import FRONT, UP
from alignment.sheets import formatting
from alignment.sheets.directions import plus_of, with_sign
from machines.register.models import first_said, said_first
from shop.visits.models import Visit
from shop.web.listing import harmless

from .models import Check, stored_sign
from .states import state_of_item


def csv_columns(item):
    """The heading of the CSV file; a column whose figures have a sign says what plus is."""
    figure = with_sign("{}", plus_of(item.quantity)).format
    return (
        *("machine", "station", "item", "visit", "measured at (UTC)", "phase"),
        *(figure("value"), "expanded uncertainty, µm", "coverage factor"),
        *(with_sign("stands", FRONT), with_sign("stands", UP)),
        *(figure("lower limit"), figure("upper limit"), figure("factory")),
        *("tilt per mm", "verdict", "worth now", "readings as typed", "note", "by"),
    )


@dataclass(frozen=True)
class VisitChecks:
    """What one visit found and left of an item, with the day it was measured in the shop."""

    visit: Visit
    day: date
    as_found: Check | None
    as_left: Check | None


@dataclass(frozen=True)
class CheckedFigure:
    """What a check came to, with its expanded uncertainty where that is known."""

    value_um: float
    expanded_um: float | None


@dataclass(frozen=True)
class VisitFigures:
    """What one visit found and left of an item, in figures alone, with the day."""

    day: date
    as_found: CheckedFigure | None
    as_left: CheckedFigure | None


def figures_by_item(items, zone):
    """Item pk to its `VisitFigures`, oldest first: what a picture needs, at a small part of what
    loading the checks would take; one query for all items."""
    groups = defaultdict(lambda: defaultdict(dict))
    columns = ("item", "counts_for", "measured_at", "phase", "value_um", "view", "u_um", "coverage")
    told = {item.pk: item for item in items}
    checks = (
        Check.objects.filter(item__in=items)
        .not_superseded()
        .annotate(counts_for=first_said("visit"))
        .oldest_first()
    )
    for item, visit, at, phase, value, view, u, coverage in checks.values_list(*columns):
        found = groups[item][visit]
        found.setdefault("day", at)
        value *= stored_sign(view, told[item])
        found[phase] = CheckedFigure(value, None if u is None else coverage * u)
    return {
        item: [_visit_figures(found, zone) for found in visits.values()]
        for item, visits in groups.items()
    }


def figures_of(visits):
    """`VisitChecks` as `VisitFigures`."""
    return [VisitFigures(one.day, _figure(one.as_found), _figure(one.as_left)) for one in visits]


def _figure(check):
    return check and CheckedFigure(check.told_um, check.expanded_um)


def _visit_figures(found, zone):
    return VisitFigures(
        day=found["day"].astimezone(zone).date(),
        as_found=found.get(Check.Phase.AS_FOUND),
        as_left=found.get(Check.Phase.AS_LEFT),
    )


def checks_of(items):
    """The standing checks of acceptance items, oldest first; one query."""
    return (
        Check.objects.filter(item__in=items)
        .not_superseded()
        .select_related(
            "visit__shop", "made_by", "corrects__corrects__corrects", "item__station__machine"
        )
        .oldest_first()
    )


def by_visit(checks, zone):
    """Checks of one item, oldest first, as a `VisitChecks` for each visit.

    A correction counts for the visit whose check it corrects.
    """
    groups = {}
    for check in checks:
        groups.setdefault(said_first(check).visit_id, []).append(check)
    return [_visit_checks(group, zone) for group in groups.values()]


def _visit_checks(checks, zone):
    last = {check.phase: check for check in checks}
    return VisitChecks(
        visit=checks[0].visit,
        day=checks[0].measured_at.astimezone(zone).date(),
        as_found=last.get(Check.Phase.AS_FOUND),
        as_left=last.get(Check.Phase.AS_LEFT),
    )


def by_item(items):
    """Item pk to its standing checks, oldest first; one query for all items."""
    groups = defaultdict(list)
    for check in checks_of(items):
        groups[check.item_id].append(check)
    return groups


def csv_rows(item):
    """The heading and then a row for each standing check of an item, oldest first."""
    yield csv_columns(item)
    newest, state = state_of_item(item)
    for check in checks_of([item]).prefetch_related("sweeps__readings"):
        worth = state.words if check.pk == newest.pk else "a newer check took its place"
        yield tuple(_csv_row(item, check, worth))


def _csv_row(item, check, worth):
    yield from (str(item.station.machine), str(item.station), item.name, check.visit.number)
    yield f"{check.measured_at:%Y-%m-%dT%H:%M:%SZ}"
    yield check.phase
    yield from (check.told_um, check.expanded_um, check.coverage, *check.stands_um)
    yield from (*check.limits_um, check.own_um)
    yield from (check.per_mm if check.is_tilt else "", check.verdict)
    yield worth
    yield "; ".join(
        f"{_where(sweep, reading)}: {reading.typed} [{reading.unit}]"
        for sweep in check.sweeps.all()
        for reading in sweep.readings.all()
    )
    yield from (check.note, check.made_by.name)


def _where(sweep, reading):
    """Angle or place of a reading, with the plane or the side it belongs to."""
    words = formatting.sweep_words(sweep)
    place = formatting.place_words(reading)
    return f"{words}, {place}" if words else place


def write_csv(rows, file):
    """Write rows so that no spreadsheet takes a text among them for a formula."""
    writer = csv.writer(file)
    for row in rows:
        writer.writerow([harmless(cell) for cell in row])
