"""From readings as typed to the figure, its uncertainty and the verdict; changes no record."""

import math
from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from alignment.geometry.frame import LEFT, RIGHT
from alignment.geometry.measure.bar import BarCheck, check_bar
from alignment.geometry.measure.budget import Budget
from alignment.geometry.measure.conditions import Conditions
from alignment.geometry.measure.face import FlatHeight, flat_height
from alignment.geometry.measure.judging import Judgement, judge
from alignment.geometry.measure.outcome import SweepOutcome, face_outcome, sweep_outcome
from alignment.geometry.measure.quantity import in_dial
from alignment.geometry.measure.sweep import SweepFit, fit_sweep
from alignment.geometry.measure.travel import bar_outcome, flat_outcome
from alignment.geometry.measure.verdict import Rule

from .models import Indicator, Sweep

BORE, BOSS, FACE, BAR, FLAT = "bore", "boss", "face", "bar", "flat"
# A face is read along the axis: nearer on the right reads high on the right, as a boss does.
READS_AS = {BORE: BORE, BOSS: BOSS, FACE: BOSS}


@dataclass(frozen=True)
class TypedReading:
    """A reading as typed: where, the text, the unit it was taken in, and what it comes to.

    place, z_mm: along a bar or a flat, which one of the row it is and where it stands.
    """

    angle_deg: float
    typed: str
    unit: str
    value_um: Decimal
    place: int = 0
    z_mm: Decimal | None = None


@dataclass(frozen=True)
class TypedSweep:
    """A sweep as typed, checked by its form; see `alignment.models.Sweep`."""

    surface: str
    unit: str
    readings: tuple[TypedReading, ...]
    sag_um: Decimal = Decimal(0)
    sag_typed: str = ""
    sag_u_um: Decimal = Decimal(0)
    sag_u_typed: str = ""
    lever_deg: float = 0.0
    lever_error_deg: float = 0.0
    reading_u_um: Decimal = Decimal(0)
    reading_u_typed: str = ""
    temperature_k: float = 0.0
    length_mm: float = 0.0
    form_um: Decimal | None = None
    form_typed: str = ""
    z_mm: Decimal | None = None
    radius_mm: Decimal | None = None
    side: str = ""
    turned: bool = False
    bar_error_um: Decimal | None = None
    bar_error_typed: str = ""
    diameter_um: Decimal | None = None
    diameter_typed: str = ""
    indicator: Indicator | None = None
    indicator_name: str = ""
    error_um: Decimal = Decimal(0)
    error_travel_um: Decimal | None = None
    resolution_um: Decimal = Decimal(0)
    calibration_due: date | None = None

    @property
    def conditions(self):
        """What is known of the readings, for the budget."""
        return Conditions(
            error_um=stated_error_um((self,)),
            resolution_um=float(self.resolution_um),
            typed_u_um=float(self.reading_u_um),
            sag_u_um=float(self.sag_u_um),
            lever_deg=self.lever_deg,
            lever_error_deg=self.lever_error_deg,
            temperature_k=self.temperature_k,
            length_mm=self.length_mm,
            form_um=_limit(self.form_um),
        )


def stated_error_um(sweeps):
    """The stated error over the travel that the readings take; their zero is one of them."""
    stated = float(sweeps[0].error_um)
    per_um = sweeps[0].error_travel_um
    if per_um is None:
        return stated
    values = [0.0, *(float(r.value_um) for sweep in sweeps for r in sweep.readings)]
    return stated * (max(values) - min(values)) / float(per_um)


def _conditions(sweeps, first=None):
    """What is known of the readings of all sweeps of a check."""
    return replace((first or sweeps[0]).conditions, error_um=stated_error_um(sweeps))


def indicator_facts(indicator):
    """What a sweep keeps of the indicator it was taken with, as fields of a `TypedSweep`."""
    if indicator is None:
        return {}
    return {
        "indicator": indicator,
        "indicator_name": str(indicator),
        "error_um": indicator.error_um,
        "error_travel_um": indicator.error_travel_um,
        "resolution_um": indicator.resolution_um,
        "calibration_due": indicator.calibration_due,
    }


@dataclass(frozen=True)
class Measured:
    """Sweeps worked out against an acceptance item's limits.

    fits: the fit of each sweep in the order they were given; empty along a bar or on a flat,
    where `bar` or `flat` says what came out. outcome: of the swept surface in the dial's view;
    signs: what turns its parts into the frame's, sign: the same of the one figure asked for.
    """

    fits: tuple[SweepFit, ...]
    outcome: SweepOutcome
    judgement: Judgement
    signs: tuple[float, float] = (1.0, 1.0)
    sign: float = 1.0
    bar: BarCheck | None = None
    flat: FlatHeight | None = None

    @property
    def fit(self):
        """The first sweep's fit."""
        return self.fits[0]

    @property
    def verdict(self) -> str:
        return str(self.judgement.verdict)

    @property
    def probability(self):
        """How likely the true figure lies within its limits, None where that is not known."""
        return self.judgement.likely

    @property
    def budget(self) -> Budget:
        return self.outcome.budget

    @property
    def value_um(self):
        """The figure asked for, told of the station."""
        return self.sign * self.outcome.value_um + 0.0

    @property
    def front_um(self):
        """How far the station stands to the front of its datum; of a tilt, leans that way."""
        return self.signs[0] * self.outcome.right_um + 0.0

    @property
    def up_um(self):
        return self.signs[1] * self.outcome.up_um + 0.0

    @property
    def u_um(self):
        """Standard uncertainty, None where it is not known."""
        return self.budget.u if math.isfinite(self.budget.expanded) else None

    @property
    def k(self):
        return self.budget.k

    @property
    def expanded_um(self):
        return None if self.u_um is None else self.budget.expanded


def work_out(asked, *sweeps):
    """Fit typed sweeps and decide by the limits; changes nothing.

    asked: the acceptance item, held to the rule its shop has chosen, or a stored check with the
    limits and the rule that were in force; runs SQL for the former's rule. Raises ValueError, in
    words for the person, when the readings do not allow it.
    """
    item = getattr(asked, "item", asked)
    if not sweeps:
        raise ValueError("There is no sweep to work out.")
    fits, outcome, also = _WAYS[_way(sweeps)](asked, in_dial(item.quantity), sweeps)
    lower_um, upper_um = map(_limit, asked.limits_um)
    judgement = judge(outcome, item.quantity, upper_um, lower_um, Rule(asked.rule), sign=item.sign)
    return Measured(fits, outcome, judgement, signs=item.signs, sign=item.sign, **also)


def fit_of(sweep):
    """The fit of a `TypedSweep` round the clock; raises ValueError when the readings do not
    allow it."""
    return fit_sweep(
        [reading.angle_deg for reading in sweep.readings],
        [float(reading.value_um) for reading in sweep.readings],
        surface=READS_AS[sweep.surface],
        sag_um=float(sweep.sag_um),
        lever_deg=sweep.lever_deg,
        reading_u_um=sweep.conditions.reading_u_um,
    )


def _way(sweeps):
    """By what was swept: round a bore or boss, on a face, along a bar, on a flat."""
    surfaces = {sweep.surface for sweep in sweeps}
    for surface in (FLAT, BAR, FACE):
        if surface in surfaces:
            return surface
    if len(surfaces) > 1:
        raise ValueError("All sweeps of a check go round one kind of surface.")
    return BORE


def _round(asked, quantity, sweeps):
    fits = tuple(fit_of(sweep) for sweep in sweeps)
    planes = defaultdict(list)
    for sweep, fit in zip(sweeps, fits, strict=True):
        planes[sweep.z_mm].append(fit)
    if len(planes) > 1 and None in planes:
        raise ValueError("Say for each sweep at which plane, in mm along the axis, it was taken.")
    outcome = sweep_outcome(
        list(planes.values()),
        quantity,
        _conditions(sweeps),
        z_mm=[float(z) for z in planes] if len(planes) > 1 else None,
        at_mm=_limit(asked.at_mm),
        per_mm=float(asked.per_mm),
    )
    return fits, outcome, {}


def _face(asked, quantity, sweeps):
    if len({sweep.radius_mm for sweep in sweeps}) > 1 or sweeps[0].radius_mm is None:
        raise ValueError("Say on which radius the face was swept.")
    fits = tuple(fit_of(sweep) for sweep in sweeps)
    outcome = face_outcome(
        fits,
        quantity,
        _conditions(sweeps),
        radius_mm=float(sweeps[0].radius_mm),
        per_mm=float(asked.per_mm),
    )
    return fits, outcome, {}


def _bar(asked, quantity, sweeps):
    lines = {(sweep.side == Sweep.Side.TOP, sweep.turned): sweep for sweep in sweeps}
    missing = [key for key in ((True, False), (False, False)) if key not in lines]
    if missing:
        raise ValueError("Read the bar on top and on one side.")
    top, side = lines[True, False], lines[False, False]
    first = sweeps[0]
    bar = check_bar(
        _places(top),
        _values(top),
        _values(side),
        _values(lines.get((True, True))),
        _values(lines.get((False, True))),
        side=_hand_of(side.side, getattr(asked, "item", asked)),
        per_mm=float(asked.per_mm),
        reading_u_um=_conditions(sweeps).reading_u_um,
    )
    outcome = bar_outcome(
        bar, quantity, _conditions(sweeps), bar_error_um=_limit(first.bar_error_um)
    )
    return (), outcome, {"bar": bar}


def _hand_of(side, item):
    """The hand of the dial's view at which a bar was read; front or rear, but for old entries."""
    if side not in (Sweep.Side.FRONT, Sweep.Side.REAR):
        return side
    front = item.view.front_at
    return front if side == Sweep.Side.FRONT else {LEFT: RIGHT, RIGHT: LEFT}[front]


def _flat(asked, quantity, sweeps):
    by_surface = {sweep.surface: sweep for sweep in sweeps}
    on_bar, on_flat = by_surface.get(BOSS), by_surface[FLAT]
    if on_bar is None or on_bar.diameter_um is None:
        raise ValueError("Read the bar in the spindle too, and say its diameter.")
    flat = flat_height(
        _values(on_bar),
        _values(on_flat),
        float(on_bar.diameter_um),
        nominal_um=float(asked.nominal_um),
        reading_u_um=_conditions(sweeps, on_flat).reading_u_um,
    )
    outcome = flat_outcome(
        flat,
        quantity,
        _conditions(sweeps, on_flat),
        on_bar=len(on_bar.readings),
        on_flat=len(on_flat.readings),
    )
    return (), outcome, {"flat": flat}


_WAYS = {BORE: _round, FACE: _face, BAR: _bar, FLAT: _flat}


def _places(sweep):
    return [float(reading.z_mm) for reading in sweep.readings]


def _values(sweep):
    return None if sweep is None else [float(reading.value_um) for reading in sweep.readings]


def _limit(value):
    return None if value is None else float(value)


# What a stored sweep and a typed one have in common, besides their readings.
SWEEP_FIELDS = tuple(
    name for name in TypedSweep.__dataclass_fields__ if name not in ("readings", "indicator")
)


def stored_sweep(sweep):
    """A stored sweep as the `TypedSweep` it was entered as, without its indicator's record."""
    return TypedSweep(
        readings=tuple(
            TypedReading(r.angle_deg, r.typed, r.unit, r.value_um, r.place, r.z_mm)
            for r in sweep.readings.all()
        ),
        **{name: getattr(sweep, name) for name in SWEEP_FIELDS},
    )


def stored_sweeps(check):
    """The sweeps a check rests on; runs SQL unless `sweeps__readings` was prefetched."""
    return [stored_sweep(sweep) for sweep in check.sweeps.all()]


def worked_out(check):
    """A stored check worked out anew from its readings, against the limits it was held to."""
    return work_out(check, *stored_sweeps(check))
