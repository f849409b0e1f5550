"""What changes checks, adjustments and the stations an incident touched."""

from django.utils import timezone

from machines.drive.inspecting import refuse_second_correction
from machines.incidents.models import Incident
from machines.visit_work.services import add_machine_to_visit
from shop.visits.services import for_work
from shop.web.entries import entered_once, identified
from shop.web.errors import Refused

from .answers import answered, sweeps_for, typed_together
from .chain_view import item_state
from .measuring import (
    SWEEP_FIELDS,
    Measured,
    TypedReading,
    TypedSweep,
    fit_of,
    stored_sweep,
    work_out,
)
from .models import Check, Reading, Sweep

__all__ = [
    "Measured",
    "TypedReading",
    "TypedSweep",
    "fit_of",
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
    whole_sheet=False,
):
    """Save an acceptance item as found or as left, worked out anew from its readings.

    whole_sheet: save the other lines of the sheet that the readings answer, too, each a check of
    its own that names this one as `typed_with`; so does what corrects a check that others were
    typed with.

    sweep: the `TypedSweep` it rests on, or `sweeps` where there are several (planes, repeats,
    the lines along a bar). Raises Refused when the visit was signed or is another shop's, when
    the item is no longer on the sheet in force, when 'as found' comes too late, or when what it
    corrects is another item's check or was corrected before; ValueError when the readings cannot
    be worked out.
    """
    visit = for_work(visit)
    machine = item.station.machine
    add_machine_to_visit(visit, machine)
    if corrects is None:
        _refuse_old_sheet(item)
        _refuse_late_as_found(visit, item, phase, made_at or timezone.now())
    elif corrects.item_id != item.pk:
        raise Refused("That check is of another acceptance item.")
    refuse_second_correction(corrects)
    taken = tuple(sweeps) or (sweep,)
    said = {"visit": visit, "phase": phase, "note": note, "made_by": made_by}
    said["made_at"] = made_at or timezone.now()
    check = _store(item, taken, work_out(item, *taken), said, corrects, **identified(entry_id))
    if whole_sheet:
        _answer_the_rest(check, taken, said)
    return check


def _store(item, taken, measured, said, corrects=None, **more):
    check = Check.objects.create(
        item=item, corrects=corrects, **said, **check_facts(item, measured), **more
    )
    _save_sweeps(check, taken)
    return check


def _answer_the_rest(check, taken, said):
    """Save what the readings of a check tell of other lines."""
    if check.corrects is not None:
        return _correct_the_rest(check, taken, said)
    for line, sweeps, measured in answered(check.visit, check.item, check.phase, taken):
        _store(line, sweeps, measured, said, typed_with=check)


def _correct_the_rest(check, taken, said):
    """The checks that stood on the same readings are put right with the one that is corrected."""
    for old in typed_together(check.corrects).filter(corrected_by=None):
        if sweeps := sweeps_for(old.item, taken):
            measured = work_out(old.item, *sweeps)
            _store(old.item, sweeps, measured, said, corrects=old, typed_with=check)


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


def _refuse_late_as_found(visit, item, phase, at):
    """As found means taken before anything that bears on it was moved at this visit."""
    if phase != Check.Phase.AS_FOUND:
        return
    state = item_state(item, visit)
    ends = [] if state is None else state.moved_here
    before = set(visit.adjustments.filter(made_at__lte=at).values_list("station", flat=True))
    if moved := [station for station in ends if station.pk in before]:
        raise Refused(
            f"The {moved[-1]} was already adjusted at this visit, so this sweep is no longer "
            "'as found'. Save it as 'as left'."
        )
