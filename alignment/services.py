"""What changes checks, adjustments and the stations an incident touched."""

from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from alignment.geometry.quantity import RIGHT, UP, figure
from alignment.geometry.sweep import SweepFit, fit_sweep
from alignment.geometry.verdict import decide
from machines.services import bring_to_visit, log_incident, refuse_second_correction
from shop.errors import Refused
from shop.services import entered_once, for_work, identified

from .chainview import chain_at
from .models import Adjustment, Check, IncidentStation, Reading, Sweep

# ISO 14253-1 asks for expanded uncertainty; k = 2 is its usual coverage factor.
COVERAGE = 2.0


@dataclass(frozen=True)
class TypedReading:
    """A reading as typed: where, the text, the unit it was taken in, and what it comes to."""

    angle_deg: float
    typed: str
    unit: str
    value_um: Decimal


@dataclass(frozen=True)
class TypedSweep:
    """A sweep as typed, checked by its form."""

    surface: str
    unit: str
    readings: tuple[TypedReading, ...]
    sag_um: Decimal = Decimal(0)
    sag_typed: str = ""
    lever_deg: float = 0.0
    reading_u_um: Decimal = Decimal(0)
    reading_u_typed: str = ""


@dataclass(frozen=True)
class Measured:
    """A sweep worked out against an acceptance item's limits."""

    fit: SweepFit
    value_um: float
    u_um: float
    verdict: str


def work_out(item, sweep):
    """Fit a typed sweep and decide on it by the item's limits; changes nothing.

    Raises ValueError, in words for the person, when the readings do not allow it.
    """
    fit = fit_of(sweep)
    value_um, u_um = figure(fit, item.quantity)
    verdict = decide(
        value_um,
        u_um,
        _limit(item.upper_um),
        lower_um=_limit(item.lower_um),
        k=COVERAGE,
        signed=item.quantity in (RIGHT, UP),
    )
    return Measured(fit, value_um, u_um, str(verdict))


def fit_of(sweep):
    """The fit of a `TypedSweep`; raises ValueError when the readings do not allow it."""
    return fit_sweep(
        [reading.angle_deg for reading in sweep.readings],
        [float(reading.value_um) for reading in sweep.readings],
        surface=sweep.surface,
        sag_um=float(sweep.sag_um),
        lever_deg=sweep.lever_deg,
        reading_u_um=float(sweep.reading_u_um),
    )


def _limit(value):
    return None if value is None else float(value)


def stored_sweep(sweep):
    """A stored sweep as the `TypedSweep` it was entered as."""
    return TypedSweep(
        surface=sweep.surface,
        unit=sweep.unit,
        readings=tuple(
            TypedReading(r.angle_deg, r.typed, r.unit, r.value_um) for r in sweep.readings.all()
        ),
        sag_um=sweep.sag_um,
        sag_typed=sweep.sag_typed,
        lever_deg=sweep.lever_deg,
        reading_u_um=sweep.reading_u_um,
        reading_u_typed=sweep.reading_u_typed,
    )


@entered_once(Check)
def save_check(
    *, visit, item, phase, sweep, made_by, note="", corrects=None, entry_id=None, made_at=None
):
    """Save a sweep of an acceptance item as found or as left, worked out anew from its readings.

    Raises Refused when the visit was signed or is another shop's, when the item is no longer on
    the sheet in force, when 'as found' comes too late, or when what it corrects is another item's
    check or was corrected before; ValueError when the readings cannot be worked out.
    """
    visit = for_work(visit)
    machine = item.station.machine
    bring_to_visit(visit, machine)
    if corrects is None:
        _refuse_old_sheet(item)
        _refuse_late_as_found(visit, machine, item, phase)
    elif corrects.item_id != item.pk:
        raise Refused("That check is of another acceptance item.")
    refuse_second_correction(corrects)
    measured = work_out(item, sweep)
    check = Check.objects.create(
        visit=visit,
        item=item,
        phase=phase,
        upper_um=item.upper_um,
        lower_um=item.lower_um,
        factory_um=item.factory_um,
        right_um=measured.fit.right_um,
        up_um=measured.fit.up_um,
        value_um=measured.value_um,
        u_um=measured.u_um if measured.u_um != float("inf") else None,
        coverage=COVERAGE,
        verdict=measured.verdict,
        note=note,
        corrects=corrects,
        made_by=made_by,
        made_at=made_at or timezone.now(),
        **identified(entry_id),
    )
    _save_sweep(check, sweep)
    return check


def _save_sweep(check, sweep):
    stored = Sweep.objects.create(
        check_record=check,
        surface=sweep.surface,
        unit=sweep.unit,
        sag_um=sweep.sag_um,
        sag_typed=sweep.sag_typed,
        lever_deg=sweep.lever_deg,
        reading_u_um=sweep.reading_u_um,
        reading_u_typed=sweep.reading_u_typed,
    )
    Reading.objects.bulk_create(
        Reading(
            sweep=stored,
            angle_deg=reading.angle_deg,
            typed=reading.typed,
            unit=reading.unit,
            value_um=reading.value_um,
        )
        for reading in sweep.readings
    )


def _refuse_old_sheet(item):
    if not item.sheet.is_current:
        raise Refused(
            f"{item.sheet} is no longer in force for this machine; "
            "measure against the sheet that replaced it."
        )


def _refuse_late_as_found(visit, machine, item, phase):
    """As found means before anything that bears on it was moved at this visit."""
    if phase != Check.Phase.AS_FOUND:
        return
    chain = chain_at(machine, visit)
    moved = next(state for state in chain if state.station.pk == item.station_id).moved_here
    if moved:
        raise Refused(
            f"The {moved[-1]} was already adjusted at this visit, so this sweep is no longer "
            "'as found'. Save it as 'as left'."
        )


@entered_once(Adjustment)
def record_adjustment(
    *,
    visit,
    station,
    what,
    made_by,
    right_um=None,
    up_um=None,
    by_way="",
    planned_from=None,
    foretold=None,
    entry_id=None,
    made_at=None,
):
    """Record that a station was moved; everything measured from it is stale from then on.

    by_way, planned_from, foretold: the way a planned move used in words, the check it was
    planned from and the `Place` where the station was foretold to stand; all or none.
    """
    visit = for_work(visit)
    bring_to_visit(visit, station.machine)
    return Adjustment.objects.create(
        visit=visit,
        station=station,
        what=what,
        right_um=right_um,
        up_um=up_um,
        by_way=by_way,
        planned_from=planned_from,
        foretold_right_um=foretold.right_um if foretold else None,
        foretold_up_um=foretold.up_um if foretold else None,
        made_by=made_by,
        made_at=made_at or timezone.now(),
        **identified(entry_id),
    )


@transaction.atomic
def log_incident_at(*, machine, stations=(), **account):
    """Log an incident together with the stations that were hit."""
    if foreign := [station for station in stations if station.machine_id != machine.pk]:
        raise Refused(f"The {foreign[0]} belongs to another machine.")
    incident = log_incident(machine=machine, **account)
    for station in stations:
        IncidentStation.objects.get_or_create(incident=incident, station=station)
    return incident


@transaction.atomic
def set_way(station, way):
    """Put a way of adjusting on a station's record, in place of the same kind."""
    station.ways.filter(kind=way.kind).delete()
    way.station = station
    way.save()
    return way


def drop_way(station, kind):
    """Take a way of adjusting off a station's record; moves planned by it keep their figures."""
    station.ways.filter(kind=kind).delete()
