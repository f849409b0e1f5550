"""Replacement rules: small functions of a machine's records that return advice with evidence."""

from machines.engineering.belts import summarise_teeth
from shop.wording import day_text

from .advice import Advice
from .models import BeltInspection, Recommendation, ToothCondition

# Common practice, no source: one damaged tooth is watched, a second means the belt goes.
DAMAGED_TEETH_THAT_CONDEMN = 2

GONE = (ToothCondition.CRACKED, ToothCondition.MISSING)
SPENT = (ToothCondition.MARKED, ToothCondition.WORN)


def _latest_inspections(machine):
    """The newest standing inspection of each belt, with its belt and findings; two queries."""
    newest = {}
    inspections = (
        BeltInspection.objects.filter(belt__machine=machine)
        .standing()
        .of_present_belts()
        .select_related("belt__part", "belt__machine__shop")
        .prefetch_related("findings")
        .order_by("made_at", "pk")
    )
    for inspection in inspections:
        newest[inspection.belt_id] = inspection
    return newest.values()


def _teeth(inspection, conditions):
    return [f for f in inspection.findings.all() if f.condition in conditions]


def _in_words(findings):
    return ", ".join(f"tooth {finding.tooth} {finding.condition}" for finding in findings)


def _evidence(inspection, findings):
    """The inspection and what it says of the teeth that count, with its day in the shop's zone."""
    day = inspection.made_at.astimezone(inspection.belt.machine.shop.zone)
    return ((inspection, f"{day_text(day)}: {_in_words(findings)}"),)


def _replace(belt, rule, urgency, reason, evidence, **more):
    return Advice(
        belt=belt,
        rule=rule,
        subject=belt.name,
        what=f"Replace the {belt.name}" + (f" ({belt.part.number})" if belt.part else ""),
        urgency=urgency,
        reason=reason,
        evidence=evidence,
        part=belt.part,
        **more,
    )


def missing_or_cracked_teeth(machine, visit):
    """A belt with a missing or cracked tooth is replaced before the machine runs again."""
    for inspection in _latest_inspections(machine):
        gone = _teeth(inspection, GONE)
        if not gone:
            continue
        belt = inspection.belt
        yield _replace(
            belt,
            "missing or cracked teeth",
            Recommendation.Urgency.BEFORE_RUN,
            f"The {belt.name} has {_in_words(gone)} of {belt.teeth}: "
            "it can jump and take the spindles out of step.",
            _evidence(inspection, gone),
            safety_relevant=True,
        )


def marked_or_worn_teeth(machine, visit):
    """A belt with two or more marked or worn teeth is replaced while the drive is open."""
    for inspection in _latest_inspections(machine):
        spent = _teeth(inspection, SPENT)
        if len(spent) < DAMAGED_TEETH_THAT_CONDEMN:
            continue
        belt = inspection.belt
        runs = summarise_teeth(belt.teeth, inspection.conditions()).runs
        together = any(len(run) > 1 for run in runs)
        yield _replace(
            belt,
            "marked or worn teeth",
            Recommendation.Urgency.THIS_VISIT,
            f"The {belt.name} has {len(spent)} of {belt.teeth} teeth marked or worn"
            + (", some side by side" if together else "")
            + ": the damage spreads from tooth to tooth.",
            _evidence(inspection, spent),
        )
