"""What is looked at and written down at the fleet's visits, besides the chain."""

from datetime import timedelta
from decimal import Decimal

from django.contrib.contenttypes.models import ContentType

from machines.drive.models import (
    BearingInspection,
    BeltInspection,
    BeltTension,
    Evidence,
    Recommendation,
    RecommendationStep,
    ToothCondition,
    ToothFinding,
)
from machines.planning.models import Plan, PlanClosing

MARKED_FROM, WORN_FROM = 0.8, 0.93
RULE = "machines.drive.rules.belts.damaged_or_worn_teeth"
LOOK_AFTER, ADVISE_AFTER = timedelta(minutes=65), timedelta(minutes=66)
TENTH, HUNDREDTH, THOUSANDTH = Decimal("0.1"), Decimal("0.01"), Decimal("0.001")


def look(fleet, batch):
    """Belts tooth by tooth with their tension, advice, bearings, and the plans all this closes."""
    seen = [one for life in batch.lives for one in _looks_at(fleet, batch, life)]
    fleet.add(inspection for inspection, *_ in seen)
    fleet.add(
        ToothFinding(inspection=inspection, tooth=tooth, condition=condition)
        for inspection, teeth, _life in seen
        for tooth, condition in sorted(teeth.items())
    )
    fleet.add(_tension(fleet, inspection) for inspection, *_ in seen)
    _advise(fleet, batch, [one for one in seen if one[1]])
    _turn_bearings(fleet, batch)
    _close_plans(fleet, batch)


def _looks_at(fleet, batch, life):
    """(inspection, teeth, life) at each visit during a belt's life."""
    for stay in life.stand.stays:
        age_h = life.stand.hours(fleet, stay.at) - life.start_h
        if age_h > 0 and stay.at < life.until:
            at = stay.at + LOOK_AFTER
            entered = fleet.entered(batch.contractor, at)
            inspection = BeltInspection(belt=life.belt, visit=stay.visit, **entered)
            yield inspection, _teeth(fleet, life.belt, age_h / life.life_h), life


def _teeth(fleet, belt, used):
    """Tooth to condition, by the share of its life a belt has used."""
    if used < MARKED_FROM:
        return {}
    condition = ToothCondition.WORN if used > WORN_FROM else ToothCondition.MARKED
    count = 3 if used > WORN_FROM else 1
    return {fleet.rng.randrange(1, belt.teeth + 1): condition for _ in range(count)}


def _tension(fleet, inspection):
    belt = inspection.belt
    force = fleet.rng.uniform(0.92, 1.08) * (belt.tension_low_n + belt.tension_high_n) / 2
    per_metre = 4 * float(belt.mass_kg_per_m) * (belt.span / 1000) ** 2
    return BeltTension(
        inspection=inspection,
        method=BeltTension.Method.FREQUENCY,
        frequency_hz=Decimal((force / per_metre) ** 0.5).quantize(HUNDREDTH),
        span_mm=Decimal(belt.span).quantize(THOUSANDTH),
        mass_kg_per_m=belt.mass_kg_per_m,
        tension_n=Decimal(force).quantize(HUNDREDTH),
        low_n=belt.tension_low_n,
        high_n=belt.tension_high_n,
    )


def _advise(fleet, batch, damaged):
    """The first time a belt shows damage its replacement is recommended; most are settled by the
    belt that was fitted next."""
    first = {}
    for inspection, teeth, life in damaged:
        first.setdefault(id(life), (inspection, teeth, life))
    advice = [(_recommendation(fleet, batch, *one), *one) for one in first.values()]
    fleet.add(recommendation for recommendation, *_ in advice)
    kind = ContentType.objects.get_for_model(BeltInspection)
    fleet.add(
        Evidence(
            recommendation=recommendation,
            content_type=kind,
            object_id=inspection.pk,
            sentence=f"{inspection.made_at:%d.%m.%Y}: {_words(teeth)}",
        )
        for recommendation, inspection, teeth, _life in advice
    )
    fleet.add(
        RecommendationStep(
            recommendation=recommendation,
            state=RecommendationStep.State.DONE,
            note="Replaced since.",
            **fleet.entered(batch.contractor, life.until),
        )
        for recommendation, _inspection, _teeth, life in advice
        if life.why
    )


def _recommendation(fleet, batch, inspection, teeth, life):
    belt = life.belt
    return Recommendation(
        machine=life.stand.machine,
        visit=inspection.visit,
        rule=RULE,
        subject=belt.name,
        belt=belt,
        what=f"Replace the {belt.name} ({belt.part.number})",
        part=belt.part,
        urgency=Recommendation.Urgency.WATCH,
        reason=f"{_words(teeth)}.",
        **fleet.entered(batch.contractor, inspection.visit.arrived_at + ADVISE_AFTER),
    )


def _words(teeth):
    return ", ".join(f"tooth {tooth} {condition}" for tooth, condition in sorted(teeth.items()))


def _turn_bearings(fleet, batch):
    """The first bearing of each housing, by feel and by its vibration."""
    limits = {"a_mm_s": 0.71, "b_mm_s": 1.8, "c_mm_s": 4.5, "source": "set for the fleet, invented"}
    fleet.add(
        BearingInspection(
            bearing=stand.bearings[0],
            visit=stay.visit,
            feel=BearingInspection.Feel.SMOOTH,
            noise=BearingInspection.Noise.HUM,
            velocity_mm_s=Decimal(fleet.rng.uniform(0.3, 1.7)).quantize(HUNDREDTH),
            speed_rpm=stand.bearings[0].speed_rpm,
            zone_limits=limits,
            **fleet.entered(batch.contractor, stay.at + LOOK_AFTER),
        )
        for stand in batch.stands
        if stand.bearings
        for stay in stand.stays
    )


def _close_plans(fleet, batch):
    """Chain and belts were done at every visit."""
    plans = {}
    for plan in Plan.objects.filter(shop__in=batch.shops).exclude(model_name=""):
        plans.setdefault((plan.shop_id, plan.model_name), []).append(plan)
    fleet.add(
        PlanClosing(
            plan=plan,
            machine=stand.machine,
            visit=stay.visit,
            outcome=PlanClosing.Outcome.DONE,
            counted_from=stay.at,
            due_on=stay.visit.planned_for,
            **fleet.entered(batch.contractor, stay.day.visit.left_at),
        )
        for stand in batch.stands
        for stay in stand.stays
        for plan in plans[stand.machine.shop_id, stand.machine.model_name]
    )
