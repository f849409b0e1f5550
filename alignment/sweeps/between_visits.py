"""What acceptance items say between two visits: as left then, as found and as left now."""

from collections import defaultdict
from dataclasses import dataclass

from django.db.models import Q
from django.utils import timezone

from alignment.geometry.adjust.state import check_state
from alignment.geometry.frame import FRONT, UP
from alignment.geometry.measure.difference import VECTORS, Figured, difference
from alignment.sheets import formatting
from alignment.sheets.directions import direction_words, plus_of
from alignment.sheets.models import AcceptanceItem
from shop.hooks import Panel

from .models import Adjustment, Check
from .states import happenings

NOT_MEASURED, NOT_FOUND = "not measured", "not measured as found"
MOVED_AFTER = "not known: moved after it was measured"


@dataclass(frozen=True)
class Known:
    """How an item stood at one moment: the check that says so, or why nobody knows."""

    check: Check | None
    why_not: str = ""


@dataclass(frozen=True)
class Moved:
    """How far an item moved, in words with the uncertainty; `proven` when it is past that."""

    words: str
    proven: bool | None = None


@dataclass(frozen=True)
class ItemChange:
    """One acceptance item: as left at the earlier visit, as found and as left at the later one.

    since, in_all: how far it moved from left then to found now and to left now, None where either
    end is not known. note: what the reader must know of the comparison.
    """

    item: AcceptanceItem
    left_then: Known
    found: Known
    left: Known
    since: Moved | None
    in_all: Moved | None
    note: str

    @property
    def left_as_found(self):
        """Whether it was found so and nothing was moved since."""
        return self.left.check is not None and self.left.check == self.found.check


def items(between):
    """Each item measured at either visit; three queries."""
    changes = item_changes(between.machine, between.earlier, between.later, between.unit)
    context = {"changes": changes, "earlier": between.earlier, "later": between.later}
    return Panel("alignment/panels/changes.html", context | {"unit": between.unit})


def item_changes(machine, earlier, later, unit):
    """The `ItemChange`s of a machine between two visits, in checking order."""
    visits = {earlier.pk, later.pk}
    happened = happenings([machine.pk], timezone.now())
    moved_at = _moved_at(machine, visits, happened.line_of)
    changes = []
    for item, checks in _checks(machine, visits).items():
        link = happened.link_of(item.station, item)
        left_then, left = (
            _left(checks[visit.pk], link, {line: moved_at.get((visit.pk, line)) for line in link})
            for visit in (earlier, later)
        )
        changes.append(_change(item, left_then, _found(checks[later.pk]), left, unit))
    return changes


def _checks(machine, visits):
    """Item to visit pk to its standing checks there, oldest first.

    A correction counts for the visit whose check it corrects.
    """
    there = Q()
    for path in ("visit", "corrects__visit", "corrects__corrects__visit"):
        there |= Q(**{f"{path}__in": visits})
    found = (
        Check.objects.of_machine(machine)
        .not_superseded()
        .with_measured_at()
        .filter(there)
        .select_related("item__station__machine", "item__sheet", "corrects__corrects")
        .order_by("item__station__position", "item__position", "measured_at", "pk")
    )
    checks = defaultdict(lambda: defaultdict(list))
    for check in found:
        checks[check.item][_visit_of(check, visits)].append(check)
    return checks


def _visit_of(check, visits):
    first = check
    while first.visit_id not in visits:
        first = first.corrects
    return first.visit_id


def _moved_at(machine, visits, line_of):
    """(visit pk, line of a station) to when the station was last moved there, its corrections
    included."""
    moved = (
        Adjustment.objects.filter(station__machine=machine)
        .filter(Q(visit__in=visits) | Q(visit__corrects__in=visits))
        .select_related("visit")
    )
    last = {}
    for one in moved.order_by("made_at"):
        visit = one.visit_id if one.visit_id in visits else one.visit.corrects_id
        last[visit, line_of[one.station_id]] = one.made_at
    return last


def _left(checks, link, adjusted):
    """How an item was left: by the last check, unless it or its datum was moved afterwards."""
    if not checks:
        return Known(None, NOT_MEASURED)
    last, (datum, station) = checks[-1], link
    state = check_state(
        station,
        datum,
        measured_at=last.measured_at,
        verdict=last.verdict,
        adjusted=adjusted,
        knocks=(),
    )
    return Known(last) if state.counts else Known(None, MOVED_AFTER)


def _found(checks):
    found = [check for check in checks if check.phase == Check.Phase.AS_FOUND]
    return Known(found[-1]) if found else Known(None, NOT_FOUND if checks else NOT_MEASURED)


def _change(item, left_then, found, left, unit):
    since, in_all = (moved_between(left_then.check, now.check, unit) for now in (found, left))
    newest = left.check or found.check
    notes = []
    if not item.sheet.is_current:
        notes.append(f"Of the sheet {item.sheet}, which is no longer in force.")
    if left_then.check and newest and _limits(left_then.check) != _limits(newest):
        notes.append(f"Its tolerance was {formatting.limits(left_then.check, unit)} then.")
    return ItemChange(item, left_then, found, left, since, in_all, " ".join(notes))


def _limits(check):
    return *check.limits_um, check.per_mm


def moved_between(then, now, unit):
    """The `Moved` from one check to another, None where one is missing."""
    if then is None or now is None:
        return None
    if (then.at_mm, then.nominal_um) != (now.at_mm, now.nominal_um):
        return Moved("not to be compared: it was asked for at another place")
    quantity = now.item.quantity
    scale = float(now.per_mm / then.per_mm) if now.is_tilt else 1.0
    moved = difference(_figured(then, scale), _figured(now), quantity)
    size = formatting.length(abs(moved.value_um), unit)
    per = f" {formatting.per_words(now.per_mm, unit)}" if now.is_tilt else ""
    by = f" ± {formatting.uncertainty(moved.expanded_um, unit)}"
    towards = f" {_towards(moved, quantity, unit)}".rstrip()
    if moved.proven is None:
        return Moved(f"{size}{per}{towards}, uncertainty not known")
    return Moved(f"{size}{by}{per}{towards if moved.proven else ', not proven'}", moved.proven)


def _towards(moved, quantity, unit):
    """Which way it went, or whether a size has grown; "" where it did not move."""
    if quantity in VECTORS:
        return direction_words(moved.front_um, moved.up_um, unit)
    if plus_of(quantity) == FRONT:
        return direction_words(moved.value_um, 0.0, unit)
    if plus_of(quantity) == UP:
        return direction_words(0.0, moved.value_um, unit)
    return "" if not moved.value_um else "more" if moved.value_um > 0 else "less"


def _figured(check, scale=1.0):
    """What a check says, per `scale` times the length it is stated for."""
    known = (check.told_um, *check.stands_um, check.u_um)
    scaled = (None if figure is None else scale * figure for figure in known)
    return Figured(*scaled, check.coverage)
