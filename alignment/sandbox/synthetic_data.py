"""The fleet's chains and sheets, and what is swept and set right at its visits.

Each station's axis is a complex number, front + i·up, in µm from the headstock's axis. It creeps
at a steady rate per 1,000 spindle hours, wanders a little, and jumps at incidents; the rates and
jumps are the truth that an estimator has to find again from the readings.
"""

import math
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from functools import lru_cache

from alignment.geometry.measure.quantity import TILTS, TIR
from alignment.sheets.models import AcceptanceItem, AcceptanceSheet
from alignment.sheets.setup import usual_setup
from alignment.sweeps.measuring import (
    SWEEP_FIELDS,
    TypedReading,
    TypedSweep,
    indicator_facts,
    work_out,
)
from alignment.sweeps.models import Adjustment, Check, Indicator, Reading, Sweep
from alignment.sweeps.services import check_facts
from machines.drive.models import Thresholds
from machines.incidents.models import IncidentStation
from machines.register.models import Station, StationMover
from shop.lengths import format_length, parse_length

from .demo.chains import CHAIN, CHAINS, PER_MM, PLANES_MM
from .demo.sweeping import DIALS, enter_indicators

Kind = Station.Kind
Phase = Check.Phase
BY_LAYOUT = {"guide bushing": CHAIN, "headstock": CHAINS["3"], "turret": CHAINS["C"]}
ANGLES_DEG = (0.0, 90.0, 180.0, 270.0)
# What four points cannot show of a run-out, as its people state it.
ROUND_WITHIN = {"form_um": Decimal("0.5"), "form_typed": "0.5 µm"}
# Invented: how fast seats creep, how they wander, how far a crash shifts one, what a hand adds.
CREEP_UM_PER_1000_H = 2.5
WANDER_UM2_PER_1000_H = 0.15
JUMP_UM = (6.0, 22.0)
HAND_UM = 0.25
START_UM = 2.0
# What stands off by more than this share of its tolerance is set right, to about so much.
SET_RIGHT_FROM, LEFT_AT_UM = 0.7, 1.0
MINUTES_A_SWEEP, MINUTES_A_MOVE = 4, 6


@dataclass
class Seats:
    """Where a machine's stations really are, by kind."""

    datum: dict
    rate: dict
    at: dict
    hours: float = 0.0
    jumps: list = field(default_factory=list)

    def offset(self, kind):
        """The station's axis seen from its datum's."""
        return self.at[kind] - self.at.get(self.datum[kind], 0)

    def age(self, rng, hours):
        """Creep and wander until so many spindle hours had run."""
        step = (hours - self.hours) / 1000
        spread = math.sqrt(max(step, 0) * WANDER_UM2_PER_1000_H)
        for kind, rate in self.rate.items():
            if rate:
                wander = complex(rng.gauss(0, spread), rng.gauss(0, spread))
                self.at[kind] += rate * step + wander
        self.hours = hours

    def downstream(self, moved):
        """The kinds among `datum` that were moved, or are measured from one that was."""
        return [k for k in self.datum if k in moved or self._rests_on(k, moved)]

    def _rests_on(self, kind, moved):
        datum = self.datum[kind]
        return datum is not None and (datum in moved or self._rests_on(datum, moved))


def draw_up(fleet, batch):
    """Every machine's stations, its sheet in force, and the firm's indicators."""
    enter_indicators(batch.firm, fleet.now.date())
    for stand in batch.stands:
        stand.stations = [
            _station(stand.machine, place, order)
            for order, place in enumerate(BY_LAYOUT[stand.layout.chain], start=1)
        ]
    # The datum of each is an earlier one of the same machine, so a row at a time is written.
    for order in range(max(len(stand.stations) for stand in batch.stands)):
        fleet.add(s.stations[order] for s in batch.stands if len(s.stations) > order)
        for stand in batch.stands:
            _link(stand, order + 1)
    fleet.add(mover for stand in batch.stands for mover in _movers(stand))
    sheets = fleet.add(
        AcceptanceSheet(
            machine=stand.machine,
            name="factory sheet",
            dated=date(stand.machine.built, 4, 12),
            made_at=fleet.began,
        )
        for stand in batch.stands
    )
    for stand, sheet in zip(batch.stands, sheets, strict=True):
        stand.items = list(_items(stand, sheet))
    fleet.add(item for stand in batch.stands for item in stand.items)


def name_stations_hit(fleet, batch):
    """The station each incident names."""
    fleet.add(
        IncidentStation(incident=incident, station=_named(stand, incident.place))
        for stand in batch.stands
        for incident in stand.incidents
    )


def measure(fleet, batch):
    """Sweep every chain as found at every visit, set right what is out, sweep that again."""
    dials = {one.unit: one for one in Indicator.objects.filter(firm=batch.firm)}
    made = Made(fleet, batch)
    for stand in batch.stands:
        indicator = dials[stand.machine.shop.length_unit]
        _live_and_measure(made, stand, indicator)
    made.write()


@dataclass
class Made:
    """Rows of one batch, kept until they can be written in bulk."""

    fleet: object
    batch: object
    checks: list = field(default_factory=list)
    sweeps: list = field(default_factory=list)
    readings: list = field(default_factory=list)
    moves: list = field(default_factory=list)

    def write(self):
        self.fleet.add(self.checks)
        self.fleet.add(self.sweeps)
        self.fleet.add(self.readings)
        self.fleet.add(self.moves)


def _station(machine, place, order):
    return Station(
        machine=machine,
        name=Kind(place.kind).label,
        kind=place.kind,
        position=order,
        how=place.how,
        plane_mm=PLANES_MM[place.kind],
        **vars(usual_setup(place.kind)),
    )


def _link(stand, order):
    """Give the station at `order` its datum, which is on record by now."""
    if order < len(stand.stations):
        by_kind = {station.kind: station for station in stand.stations[:order]}
        place = BY_LAYOUT[stand.layout.chain][order]
        stand.stations[order].datum = by_kind[place.datum]


def _movers(stand):
    """Each axis at the station that it moves."""
    for station in stand.stations:
        for axis in stand.axes:
            if axis.moves == station.name:
                yield StationMover(station=station, axis=axis)


def _items(stand, sheet):
    unit = stand.machine.shop.length_unit
    places = BY_LAYOUT[stand.layout.chain]
    lines = [
        (station, line)
        for station, place in zip(stand.stations, places, strict=True)
        for line in (place.mm if unit == "mm" else place.inch)
        if line.quantity not in TILTS
    ]
    for position, (station, line) in enumerate(lines, start=1):
        yield AcceptanceItem(
            sheet=sheet,
            station=station,
            position=position,
            name=line.name,
            quantity=line.quantity,
            surface=line.surface,
            upper_um=parse_length(line.upper, unit),
            lower_um=parse_length(line.lower, unit) if line.lower else None,
            factory_um=parse_length(line.factory, unit),
            per_mm=PER_MM[unit],
        )


def _named(stand, name):
    return next(station for station in stand.stations if station.name == name)


def _live_and_measure(made, stand, indicator):
    fleet = made.fleet
    seats = _seats(fleet.rng, stand)
    incidents = list(stand.incidents)
    for stay in stand.stays:
        while incidents and incidents[0].happened_at < stay.at:
            incident = incidents.pop(0)
            seats.age(fleet.rng, stand.hours(fleet, incident.happened_at))
            _jump(fleet.rng, seats, _named(stand, incident.place).kind, incident)
        seats.age(fleet.rng, stand.hours(fleet, stay.at))
        _visit(made, stand, stay, seats, indicator)
    _tell(stand, seats)


def _seats(rng, stand):
    datum = {s.kind: s.datum.kind if s.datum else None for s in stand.stations}
    seats = Seats(datum, {}, {})
    for kind in datum:
        first = datum[kind] is None
        seats.rate[kind] = 0 if first else _some_vector(rng, CREEP_UM_PER_1000_H * rng.random())
        seats.at[kind] = seats.at.get(datum[kind], 0) + _some_vector(
            rng, 1.0 if first else START_UM
        )
    return seats


def _some_vector(rng, size):
    angle = rng.uniform(0, 2 * math.pi)
    return size * complex(math.sin(angle), math.cos(angle))


def _jump(rng, seats, kind, incident):
    jump = _some_vector(rng, rng.uniform(*JUMP_UM))
    seats.at[kind] += jump
    seats.jumps.append((kind, incident, jump))


def _tell(stand, seats):
    """Put the truth of each item on record, as its readings should show it."""
    for item in stand.items:
        kind = item.station.kind
        rate = seats.rate[kind] - seats.rate.get(seats.datum[kind], 0)
        stand.truth["items"][item.pk] = {
            "rate_um_per_1000_h": [rate.real, rate.imag],
            "walk_um2_per_1000_h": WANDER_UM2_PER_1000_H * _parts(seats, kind),
            "steps": [
                {"incident": incident.pk, "step_um": [sign * jump.real, sign * jump.imag]}
                for hit, incident, jump in seats.jumps
                for sign in ((1,) if hit == kind else (-1,) if hit == seats.datum[kind] else ())
            ],
        }


def _parts(seats, kind):
    """How many creeping seats stand between a station and its datum: its own, and the datum's."""
    return bool(seats.rate[kind]) + bool(seats.rate.get(seats.datum[kind], 0))


def _visit(made, stand, stay, seats, indicator):
    """As found everything; then each station that stands off is moved, and swept again with all
    that is measured from it."""
    minutes = 5
    for item in stand.items:
        _check(made, stay, item, seats, indicator, Phase.AS_FOUND, minutes)
        minutes += MINUTES_A_SWEEP
    moved = []
    for station in stand.stations[1:]:
        if _stands_off(stand, station, seats):
            _move(made, stay, station, seats, minutes)
            moved.append(station.kind)
            minutes += MINUTES_A_MOVE
    again = seats.downstream(moved)
    for item in stand.items:
        if item.station.kind in again:
            _check(made, stay, item, seats, indicator, Phase.AS_LEFT, minutes)
            minutes += MINUTES_A_SWEEP


def _stands_off(stand, station, seats):
    offset = seats.offset(station.kind)
    parts = {"front": abs(offset.real), "up": abs(offset.imag)}
    return any(
        parts.get(item.quantity, abs(offset)) > SET_RIGHT_FROM * float(item.upper_um)
        for item in stand.items
        if item.station.kind == station.kind
    )


def _move(made, stay, station, seats, minutes):
    target = seats.at.get(seats.datum[station.kind], 0)
    before = seats.at[station.kind]
    rng = made.fleet.rng
    seats.at[station.kind] = target + _some_vector(rng, LEFT_AT_UM * rng.random())
    move = seats.at[station.kind] - before
    made.moves.append(
        Adjustment(
            visit=stay.visit,
            station=station,
            what="Bolts eased, set over, bolts torqued",
            front_um=round(Decimal(move.real), 1),
            up_um=round(Decimal(move.imag), 1),
            **made.fleet.entered(made.batch.contractor, stay.at + timedelta(minutes=minutes)),
        )
    )


def _check(made, stay, item, seats, indicator, phase, minutes):
    steps = _steps(made.fleet.rng, _in_dial(item, seats), item.surface, indicator.unit)
    asked = (item.quantity, item.upper_um, item.lower_um, item.per_mm, item.signs, item.sign)
    taken, measured = _worked_out(SyntheticLine(*asked), item.surface, indicator, steps)
    check = Check(
        visit=stay.visit,
        item=item,
        phase=phase,
        **check_facts(item, measured),
        **made.fleet.entered(made.batch.contractor, stay.at + timedelta(minutes=minutes)),
    )
    sweep = Sweep(
        check_record=check,
        indicator=indicator,
        **{name: getattr(taken, name) for name in SWEEP_FIELDS},
    )
    made.checks.append(check)
    made.sweeps.append(sweep)
    made.readings += [
        Reading(sweep=sweep, angle_deg=r.angle_deg, typed=r.typed, unit=r.unit, value_um=r.value_um)
        for r in taken.readings
    ]


def _in_dial(item, seats):
    """The offset of the item's station as its dial sees it, right + i·up."""
    offset, (sideways, up) = seats.offset(item.station.kind), item.signs
    return complex(sideways * offset.real, up * offset.imag)


def _steps(rng, offset, surface, unit):
    """What the dial shows at the four angles, in whole steps of it, zeroed at the first."""
    sign = 1 if surface == "boss" else -1
    around = (offset.imag, offset.real, -offset.imag, -offset.real)
    shown = [sign * part + rng.gauss(0, HAND_UM) for part in around]
    step = float(DIALS[unit].step_um)
    return tuple(round((one - shown[0]) / step) for one in shown)


@dataclass(frozen=True)
class SyntheticLine:
    """What `work_out` asks of an acceptance item, and nothing that tells two machines apart."""

    quantity: str
    upper_um: Decimal
    lower_um: Decimal | None
    per_mm: Decimal
    signs: tuple[float, float]
    sign: float
    at_mm: None = None
    rule: str = Thresholds.Rule.ONE_SIDED

    @property
    def limits_um(self):
        return self.lower_um, self.upper_um


@lru_cache(maxsize=200_000)
def _worked_out(line, surface, indicator, steps):
    """The sweep as typed and what it comes to; many machines show the same few steps."""
    taken = TypedSweep(
        surface=surface,
        unit=indicator.unit,
        readings=tuple(
            _reading(angle, count, indicator.unit)
            for angle, count in zip(ANGLES_DEG, steps, strict=True)
        ),
        **indicator_facts(indicator),
        **(ROUND_WITHIN if line.quantity == TIR else {}),
    )
    return taken, work_out(line, taken)


@lru_cache(maxsize=10_000)
def _reading(angle_deg, steps, unit):
    dial = DIALS[unit]
    typed = format_length(steps * dial.step_um, dial.unit, places=dial.places)
    if dial.unit == "in":
        typed = typed.replace("0.", ".", 1)
    return TypedReading(angle_deg, typed, unit, parse_length(typed, unit))
