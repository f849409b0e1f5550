"""The move of a station at a visit: what to do, what the dial will show, and what came of it."""

from dataclasses import dataclass

from alignment.geometry.adjust.dial import MoveResult, compare_with_plan, dial_after
from alignment.geometry.adjust.move import Place
from alignment.sweeps.models import Check
from alignment.sweeps.states import why_no_plan_from
from alignment.sweeps.station_position import StationPosition, position_of

from .models import AdjustingWay
from .ways import Plan, plan

NEEDS_A_TILT = "How the axis leans was not measured at this visit. Sweep it near and far first."


@dataclass(frozen=True)
class DialRow:
    """What the dial shows at one clock position now, and once the station stands as foretold."""

    angle_deg: float
    now_um: float
    after_um: float


@dataclass(frozen=True)
class Dial:
    """The dial to watch while a station is moved: the plane it stands in, and what it shows."""

    plane: str
    rows: tuple[DialRow, ...]


@dataclass(frozen=True)
class PlannedMove:
    """The plans of a station's ways of adjusting, from the check they rest on.

    sweep_first: why nothing is planned from that check and what to do first; "" where it counts.
    """

    check: Check
    plans: tuple[Plan, ...]
    dials: dict
    stands: Place | None = None
    sweep_first: str = ""

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
        return [(plan, self.dials.get(plan.way.pk)) for plan in self.plans]


def last_check(visit, station, *, tilts=False):
    """The newest standing check of a station's offset, or of its tilt, at a visit, with its
    readings; None without one."""
    checks = visit.checks.of_tilts() if tilts else visit.checks.of_offsets()
    return (
        checks.counting_for(visit)
        .filter(item__station=station)
        .select_related("item__station__machine", "item__measured_from")
        .prefetch_related("sweeps__readings")
        .newest_first()
        .first()
    )


def place_of(stands: StationPosition):
    """Where a station stands, seen from its datum; a tilt that was not measured counts as none."""
    return Place(*(*stands.measured, 0.0, 0.0)[:4])


def planned_move(visit, station, unit):
    """The `PlannedMove` of a station at a visit, None until it was swept there.

    Seven queries for each of its two checks, and one for the ways.
    """
    check = last_check(visit, station)
    if check is None:
        return None
    if reason := why_no_plan_from(check):
        return PlannedMove(check, (), {}, sweep_first=reason)
    tilt = last_check(visit, station, tilts=True)
    tilt = tilt if tilt and not why_no_plan_from(tilt) else None
    stands = position_of(check, tilt)
    place = place_of(stands)
    plans = tuple(_plan(way, place, stands, unit) for way in station.ways.all())
    dials = {p.way.pk: _dial(check, tilt, place, p) for p in plans if p.move}
    return PlannedMove(check, plans, dials, place)


def _plan(way, place, stands, unit):
    if way.kind == AdjustingWay.Kind.SCREWS and stands.slopes is None:
        return Plan(way, problem=NEEDS_A_TILT)
    return plan(way, place, unit)


def _dial(check, tilt, before, plan):
    """What the dial reads at each clock position of the plane to watch, before and after.

    A tilt shows most in the far plane, so that is the one to watch while screws are turned.
    """
    sweeps = list(check.sweeps.all())
    if plan.way.kind == AdjustingWay.Kind.SCREWS and tilt is not None and len(sweeps) == 1:
        sweeps = list(tilt.sweeps.all())
    by_plane = sorted(sweeps, key=lambda sweep: sweep.z_mm or 0)
    sweep = by_plane[-1]
    reach_mm = float((sweep.z_mm or 0) - _swept_plane(check, by_plane))
    view, after = check.item.view, plan.move.after
    tilted = (
        after.slope_front_um_per_100mm - before.slope_front_um_per_100mm,
        after.slope_up_um_per_100mm - before.slope_up_um_per_100mm,
    )
    moved = view.dial_shift(
        after.front_um - before.front_um, after.up_um - before.up_um, *tilted, reach_mm
    )
    plane = f"in the plane at {float(sweep.z_mm):g} mm" if len(by_plane) > 1 else ""
    return Dial(plane, tuple(_rows(sweep, moved)))


def _swept_plane(check, by_plane):
    """Where along the indicator's z the station's place counts: where the sheet asks for it, the
    middle of several planes, or the near one where the tilt was swept apart from the offset."""
    if check.at_mm is not None:
        return check.at_mm
    own = [sweep.z_mm or 0 for sweep in check.sweeps.all()]
    if len(set(own)) > 1:
        return sum(set(own)) / len(set(own))
    return own[0] if own[0] else by_plane[0].z_mm or 0


def _rows(sweep, moved):
    readings = list(sweep.readings.all())
    after = dial_after(
        [reading.angle_deg for reading in readings],
        [float(reading.value_um) for reading in readings],
        *moved,
        surface=sweep.surface,
        lever_deg=sweep.lever_deg,
    )
    for reading, shown in zip(readings, after, strict=True):
        yield DialRow(reading.angle_deg, float(reading.value_um), float(shown))


@dataclass(frozen=True)
class MoveOutcome:
    """What a planned move came to by the sweep after it; of one that was overtaken nothing is
    said but that."""

    adjustment: object
    result: MoveResult | None = None
    foretold: Place | None = None
    got: StationPosition | None = None


def outcome_of(check):
    """What the move before an as left check came to, None where no move was planned.

    Runs SQL for the adjustment and the readings of the check it was planned from.
    """
    moved = (
        check.visit.adjustments.filter(
            station=check.item.station_id,
            made_at__lte=check.made_at,
            planned_from__item=check.item_id,
            planned_from__withdrawn_at__isnull=True,
        )
        .select_related("station__machine", "planned_from__item__station__machine")
        .prefetch_related("planned_from__sweeps__readings")
        .last()
    )
    if moved is None or moved.planned_from_id == check.pk:
        return None
    if moved.what_now:
        return MoveOutcome(moved)
    foretold = Place(*map(float, moved.foretold_um))
    before, after = position_of(moved.planned_from), position_of(check)
    return MoveOutcome(moved, compare_with_plan(before, foretold, after), foretold, after)
