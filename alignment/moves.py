"""The move of a station at a visit: what to do, what the dial will show, and what came of it."""

from dataclasses import dataclass

from alignment.geometry.dial import MoveResult, compare_with_plan, dial_after
from alignment.geometry.move import Place

from .models import AdjustingWay, Check, Station
from .standing import Standing, standing_of
from .ways import Plan, plan

NEEDS_A_TILT = "How the axis leans was not measured at this visit. Sweep it near and far first."


@dataclass(frozen=True)
class DialRow:
    """What the dial shows at one clock position now, and once the station stands as foretold."""

    angle_deg: float
    now_um: float
    after_um: float


@dataclass(frozen=True)
class PlannedMove:
    """The plans of a station's ways of adjusting, from the check they rest on."""

    check: Check
    plans: tuple[Plan, ...]
    dials: dict

    @property
    def ways(self):
        """The ways of adjusting for which there is a plan."""
        return [plan.way for plan in self.plans if plan.move]

    def as_planned(self, way_pk):
        """What `record_adjustment` keeps of the plan by one of the ways."""
        chosen = next(plan for plan in self.plans if plan.way.pk == way_pk)
        return {
            "by_way": str(chosen.way),
            "planned_from": self.check,
            "foretold": chosen.move.after,
        }

    @property
    def rows(self):
        """(plan, its dial) pairs for the page."""
        return [(plan, self.dials.get(plan.way.pk, ())) for plan in self.plans]


def last_check(visit, station, *, tilts=False):
    """The newest standing check of a station's offset, or of its tilt, at a visit, with its
    readings; None without one."""
    checks = visit.checks.of_tilts() if tilts else visit.checks.of_offsets()
    return (
        checks.standing(at=visit.signed_at)
        .filter(item__station=station)
        .select_related("item__station")
        .prefetch_related("sweeps__readings")
        .newest_first()
        .first()
    )


def facing(station):
    """+1 where the indicator sweeps the station itself, −1 where it sits in it and sweeps the
    datum: then the station stands as far off the other way."""
    return 1.0 if station.indicator_in == Station.Holder.DATUM else -1.0


def place_of(station, stands: Standing):
    """Where a station stands, seen from its datum; a tilt that was not measured counts as none."""
    sign = facing(station)
    return Place(*(sign * figure for figure in (*stands.measured, 0.0, 0.0)[:4]))


def planned_move(visit, station, unit):
    """The `PlannedMove` of a station at a visit, None until it was swept there.

    Three queries for each of its two checks, and one for the ways.
    """
    check = last_check(visit, station)
    if check is None:
        return None
    stands = standing_of(check, last_check(visit, station, tilts=True))
    place = place_of(station, stands)
    plans = tuple(_plan(way, place, stands, unit) for way in station.ways.all())
    dials = {p.way.pk: tuple(_dial(check, place, p.move)) for p in plans if p.move}
    return PlannedMove(check, plans, dials)


def _plan(way, place, stands, unit):
    if way.kind == AdjustingWay.Kind.SCREWS and stands.slopes is None:
        return Plan(way, problem=NEEDS_A_TILT)
    return plan(way, place, unit)


def _dial(check, before, move):
    """What the dial reads at each clock position that was swept, before and after the move."""
    sweep = check.sweeps.all()[0]
    readings = list(sweep.readings.all())
    sign = facing(check.item.station)
    after = dial_after(
        [reading.angle_deg for reading in readings],
        [float(reading.value_um) for reading in readings],
        sign * (move.after.right_um - before.right_um),
        sign * (move.after.up_um - before.up_um),
        surface=sweep.surface,
        lever_deg=sweep.lever_deg,
    )
    for reading, shown in zip(readings, after, strict=True):
        yield DialRow(reading.angle_deg, float(reading.value_um), float(shown))


@dataclass(frozen=True)
class Outcome:
    """What a planned move came to by the sweep after it."""

    adjustment: object
    result: MoveResult
    foretold: Place


def outcome_of(check):
    """What the move before an as left check came to, None where no move was planned.

    Runs SQL for the adjustment and the readings of the check it was planned from.
    """
    moved = (
        check.visit.adjustments.filter(
            station=check.item.station_id,
            made_at__lte=check.made_at,
            planned_from__item=check.item_id,
        )
        .select_related("planned_from")
        .prefetch_related("planned_from__sweeps__readings")
        .last()
    )
    if moved is None or moved.planned_from_id == check.pk:
        return None
    foretold = _swept(Place(moved.foretold_right_um, moved.foretold_up_um), check.item.station)
    before, after = standing_of(moved.planned_from), standing_of(check)
    return Outcome(moved, compare_with_plan(before, foretold, after), foretold)


def _swept(place, station):
    """A station's place as the place of the swept surface, which the dial shows."""
    sign = facing(station)
    return Place(sign * place.right_um, sign * place.up_um)
