"""What changes checks, adjustments and the stations an incident touched."""

from django.db import transaction
from django.utils import timezone

from machines.models import Incident
from machines.services import bring_to_visit, log_incident, refuse_second_correction
from shop.errors import Refused
from shop.services import entered_once, for_work, identified

from .chainview import item_state
from .measuring import (
    SWEEP_FIELDS,
    Measured,
    TypedReading,
    TypedSweep,
    fit_of,
    stored_sweep,
    work_out,
)
from .models import Adjustment, Check, IncidentStation, Reading, Sweep
from .states import why_no_plan_from

__all__ = [
    "Measured",
    "TypedReading",
    "TypedSweep",
    "fit_of",
    "log_incident_at",
    "record_adjustment",
    "save_check",
    "stored_sweep",
    "work_out",
]

LONGEST_PLACE = Incident._meta.get_field("place").max_length

# What stands for the coverage factor where the uncertainty is not known, and there is none.
USUAL_COVERAGE = 2.0


@entered_once(Check)
def save_check(
    *,
    visit,
    item,
    phase,
    made_by,
    sweep=None,
    sweeps=(),
    note="",
    corrects=None,
    entry_id=None,
    made_at=None,
):
    """Save an acceptance item as found or as left, worked out anew from its readings.

    sweep: the `TypedSweep` it rests on, or `sweeps` where there are several (planes, repeats,
    the lines along a bar). Raises Refused when the visit was signed or is another shop's, when
    the item is no longer on the sheet in force, when 'as found' comes too late, or when what it
    corrects is another item's check or was corrected before; ValueError when the readings cannot
    be worked out.
    """
    visit = for_work(visit)
    machine = item.station.machine
    bring_to_visit(visit, machine)
    if corrects is None:
        _refuse_old_sheet(item)
        _refuse_late_as_found(visit, item, phase)
    elif corrects.item_id != item.pk:
        raise Refused("That check is of another acceptance item.")
    refuse_second_correction(corrects)
    taken = tuple(sweeps) or (sweep,)
    measured = work_out(item, *taken)
    check = Check.objects.create(
        visit=visit,
        item=item,
        phase=phase,
        note=note,
        corrects=corrects,
        made_by=made_by,
        made_at=made_at or timezone.now(),
        **check_facts(item, measured),
        **identified(entry_id),
    )
    _save_sweeps(check, taken)
    return check


def check_facts(item, measured):
    """What a check keeps of its item's limits as they are now, and of what was measured."""
    return {
        "upper_um": item.upper_um,
        "lower_um": item.lower_um,
        "factory_um": item.factory_um,
        "per_mm": item.per_mm,
        "at_mm": item.at_mm,
        "nominal_um": item.nominal_um,
        "right_um": measured.outcome.right_um,
        "up_um": measured.outcome.up_um,
        "value_um": measured.value_um,
        "u_um": measured.u_um,
        "coverage": USUAL_COVERAGE if measured.u_um is None else measured.k,
        "rule": measured.judgement.rule.value,
        "guard_um": measured.judgement.guard_um,
        "verdict": measured.verdict,
    }


def _save_sweeps(check, taken):
    """In the order they were given, which is the order they are read again."""
    for sweep in taken:
        stored = Sweep.objects.create(
            check_record=check,
            indicator=sweep.indicator,
            **{name: getattr(sweep, name) for name in SWEEP_FIELDS},
        )
        Reading.objects.bulk_create(
            Reading(
                sweep=stored,
                angle_deg=reading.angle_deg,
                typed=reading.typed,
                unit=reading.unit,
                value_um=reading.value_um,
                place=reading.place,
                z_mm=reading.z_mm,
            )
            for reading in sweep.readings
        )


def _refuse_ended(station):
    if station.ended_on is not None:
        raise Refused(f"This line of the {station} was ended; use the one that is measured now.")


def _refuse_old_sheet(item):
    _refuse_ended(item.station)
    if not item.sheet.is_current:
        raise Refused(
            f"{item.sheet} is no longer in force for this machine; "
            "measure against the sheet that replaced it."
        )


def _refuse_late_as_found(visit, item, phase):
    """As found means before anything that bears on it was moved at this visit."""
    if phase != Check.Phase.AS_FOUND:
        return
    state = item_state(item, visit)
    if moved := state and state.moved_here:
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
    front_um=None,
    up_um=None,
    by_way="",
    planned_from=None,
    foretold=None,
    entry_id=None,
    made_at=None,
):
    """Record that a station was moved; it and what is measured from it are stale from then on.

    by_way, planned_from, foretold: the way a planned move used in words, the check it was
    planned from and the `Place` where the station was foretold to stand; all or none. Raises
    Refused for a plan from a check that no longer counts, and for a station that was ended.
    """
    visit = for_work(visit)
    _refuse_ended(station)
    if planned_from is not None and (reason := why_no_plan_from(planned_from)):
        raise Refused(reason)
    bring_to_visit(visit, station.machine)
    return Adjustment.objects.create(
        visit=visit,
        station=station,
        what=what,
        front_um=front_um,
        up_um=up_um,
        by_way=by_way,
        planned_from=planned_from,
        foretold_front_um=foretold.front_um if foretold else None,
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
    place = " and the ".join(station.name for station in stations)[:LONGEST_PLACE]
    incident = log_incident(machine=machine, place=place, **account)
    for station in stations:
        IncidentStation.objects.get_or_create(incident=incident, station=station)
    return incident


@transaction.atomic
def set_way(station, way):
    """Put a way of adjusting on a station's record, or over the one of the same kind there."""
    said = {"settings": way.settings, "note": way.note}
    kept, _is_new = station.ways.update_or_create(kind=way.kind, defaults=said)
    return kept


def drop_way(station, kind):
    """Take a way of adjusting off a station's record; moves planned by it keep their figures."""
    station.ways.filter(kind=kind).delete()
