"""When a belt is to be replaced or its tension set."""

from machines.drive.advice import Advice
from machines.drive.ages import age_of, best_belt_age_h, day_after
from machines.drive.belt_looks import look_before
from machines.drive.lifetimes import lives_at
from machines.drive.models import BeltInspection, Recommendation, Thresholds, ToothCondition
from machines.engineering.belts import summarise_teeth
from shop.web.request_memo import request_memo
from shop.web.wording import day_text

Urgency = Recommendation.Urgency
GONE = (ToothCondition.CRACKED, ToothCondition.MISSING)
SPENT = (ToothCondition.MARKED, ToothCondition.WORN)


def _latest_inspections(machine):
    """The newest inspection of each belt that counts, with its belt and findings; two queries, once
    for all rules."""
    return request_memo(("newest belt looks", machine.pk), lambda: _newest_looks(machine))


def _newest_looks(machine):
    newest = {}
    inspections = (
        BeltInspection.objects.filter(belt__machine=machine)
        .not_superseded()
        .of_present_belts()
        .select_related("belt__part", "belt__partner__part", "belt__machine__shop", "tension")
        .prefetch_related("findings")
        .oldest_first()
    )
    for inspection in inspections:
        newest[inspection.belt_id] = inspection
    return list(newest.values())


def _teeth(inspection, conditions):
    return [f for f in inspection.findings.all() if f.condition in conditions]


def _in_words(findings):
    return ", ".join(
        f"tooth {finding.tooth} {finding.get_condition_display()}" for finding in findings
    )


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
            Urgency.BEFORE_RUN,
            f"The {belt.name} has {_in_words(gone)} of {belt.teeth}: "
            "it can jump and take the spindles out of step.",
            _evidence(inspection, gone),
            safety_relevant=True,
        )


def damaged_or_worn_teeth(machine, visit):
    """A belt with two or more damaged or worn teeth is replaced while the drive is open.

    One damaged tooth is watched, a second means the belt goes: common practice, no source.
    """
    enough = Thresholds.of(machine.shop).damaged_teeth
    for inspection in _latest_inspections(machine):
        spent = _teeth(inspection, SPENT)
        if len(spent) < enough:
            continue
        belt = inspection.belt
        runs = summarise_teeth(belt.teeth, inspection.conditions()).runs
        together = any(len(run) > 1 for run in runs)
        yield _replace(
            belt,
            "damaged or worn teeth",
            Urgency.THIS_VISIT,
            f"The {belt.name} has {len(spent)} of {belt.teeth} teeth damaged or worn"
            + (", some side by side" if together else "")
            + ": the damage spreads from tooth to tooth.",
            _evidence(inspection, spent),
        )


def damage_that_grew(machine, visit):
    """A belt on which teeth were newly damaged or got worse since last time is replaced."""
    enough = Thresholds.of(machine.shop).grown_teeth
    for inspection in _latest_inspections(machine):
        before = look_before(inspection)
        if before is None:
            continue
        belt = inspection.belt
        summary = summarise_teeth(belt.teeth, inspection.conditions(), before.conditions())
        grown = [change.tooth for change in (*summary.new, *summary.worsened)]
        if len(grown) < enough:
            continue
        since = day_text(before.made_at.astimezone(machine.shop.zone))
        findings = [f for f in inspection.findings.all() if f.tooth in grown]
        yield _replace(
            belt,
            "damage that grew",
            Urgency.THIS_VISIT,
            f"On the {belt.name} {len(grown)} teeth were newly damaged or got worse since {since}.",
            _evidence(inspection, findings),
        )


def tension_outside_the_band(machine, visit):
    """A belt whose tension is not as wanted is set, or replaced where it will not come right."""
    for inspection in _latest_inspections(machine):
        tension = getattr(inspection, "tension", None)
        held = tension and tension.held_to_the_band
        if not held or held.verdict == "within":
            continue
        belt = inspection.belt
        day = day_text(inspection.made_at.astimezone(machine.shop.zone))
        yield Advice(
            rule="tension outside the band",
            subject=belt.name,
            what=f"Set the tension of the {belt.name}",
            urgency=Urgency.THIS_VISIT,
            reason=f"The {belt.name} has {held.sentence} A slack belt jumps, a tight one eats "
            "bearings; replace it where it will not come right.",
            evidence=((inspection, f"{day}: {held.sentence}"),),
        )


def belt_past_its_age(machine, visit):
    """A belt that has run longer than is cheapest, or than the shop lets it, is replaced."""
    belts = list(machine.belts.select_related("part", "machine__shop"))
    thresholds = Thresholds.of(machine.shop)
    fleet = lives_at(machine.shop) if belts and thresholds.belt_age_h is None else {}
    for belt in belts:
        hours, since = age_of(belt)
        if hours is None:
            continue
        limit, why = best_belt_age_h(belt, thresholds, fleet)
        if limit is None or hours <= limit:
            continue
        by_date = day_after(belt, limit)
        yield _replace(
            belt,
            "belt past its age",
            Urgency.BY_DATE if by_date else Urgency.THIS_VISIT,
            f"The {belt.name} has run {hours:,.0f} h; {why}.",
            ((since, f"{hours:,.0f} h run"),),
            by_date=by_date,
        )


CONDEMNING = (missing_or_cracked_teeth, damaged_or_worn_teeth, damage_that_grew, belt_past_its_age)


def belt_with_its_partner(machine, visit):
    """A belt that is replaced together with another goes when the other goes."""
    if not machine.belts.filter(partner__isnull=False).exists():
        return
    for rule in CONDEMNING:
        for advice in rule(machine, visit):
            partner = advice.belt.partner
            if partner is not None:
                yield _replace(
                    partner,
                    "belt and its partner",
                    advice.urgency,
                    f"The {advice.belt.name} is replaced, and the {partner.name} with it: they "
                    "have run the same life and share the load.",
                    advice.evidence,
                    by_date=advice.by_date,
                )


RULES = [
    missing_or_cracked_teeth,
    damaged_or_worn_teeth,
    damage_that_grew,
    tension_outside_the_band,
    belt_past_its_age,
    belt_with_its_partner,
]
