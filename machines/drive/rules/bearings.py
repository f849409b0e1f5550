"""When a bearing is to be replaced or watched."""

from machines.drive.advice import Advice
from machines.drive.ages import age_of
from machines.drive.models import BearingInspection, Recommendation, Thresholds
from machines.engineering.bearing_condition import ZONE_MEANINGS
from machines.engineering.bearings import life_used
from shop.web.request_memo import request_memo
from shop.web.wording import day_text

Urgency = Recommendation.Urgency


def _looks(machine):
    """The looks at each present bearing that count, oldest first, by bearing; one query, once for
    all rules."""
    return request_memo(("bearing looks", machine.pk), lambda: _looks_that_count(machine))


def _looks_that_count(machine):
    looks = {}
    inspections = (
        BearingInspection.objects.filter(bearing__machine=machine)
        .not_superseded()
        .of_present_bearings()
        .select_related("bearing__part", "bearing__machine__shop")
        .oldest_first()
    )
    for inspection in inspections:
        looks.setdefault(inspection.bearing_id, []).append(inspection)
    return list(looks.values())


def _replace(bearing, rule, urgency, reason, evidence, *, safety_relevant=False):
    part = f" ({bearing.part.number})" if bearing.part else ""
    return Advice(
        rule=rule,
        subject=str(bearing),
        what=f"Replace the {bearing}{part}",
        urgency=urgency,
        reason=reason,
        evidence=evidence,
        part=bearing.part,
        bearing=bearing,
        safety_relevant=safety_relevant,
    )


def _day(inspection):
    return day_text(inspection.made_at.astimezone(inspection.bearing.machine.shop.zone))


def rough_feel(machine, visit):
    """A bearing that feels gritty, notchy or loose is replaced while it is open."""
    for looks in _looks(machine):
        last = looks[-1]
        if last.feel in BearingInspection.ROUGH:
            yield _replace(
                last.bearing,
                "rough feel",
                Urgency.THIS_VISIT,
                f"The {last.bearing} feels {last.feel} when turned by hand.",
                ((last, f"{_day(last)}: {last.get_feel_display()}"),),
            )


def zone_c_or_d(machine, visit):
    """A bearing in vibration zone C is replaced soon, one in zone D before it runs again."""
    for looks in _looks(machine):
        last = looks[-1]
        zone = last.zone
        if zone is None or zone.zone not in "CD":
            continue
        yield _replace(
            last.bearing,
            "vibration zone C or D",
            Urgency.BEFORE_RUN if zone.zone == "D" else Urgency.THIS_VISIT,
            f"The {last.bearing} runs in vibration zone {zone.zone}: {ZONE_MEANINGS[zone.zone]}.",
            ((last, f"{_day(last)}: {zone.sentence}"),),
            safety_relevant=zone.zone == "D",
        )


def runout_that_grew(machine, visit):
    """A bearing whose run-out has grown too much since the first look at it is replaced."""
    most = Thresholds.of(machine.shop).runout_growth_um
    for looks in _looks(machine):
        measured = [look for look in looks if look.runout_um is not None]
        if len(measured) < 2:
            continue
        first, last = measured[0], measured[-1]
        grown = last.runout_um - first.runout_um
        if grown > most:
            yield _replace(
                last.bearing,
                "run-out that grew",
                Urgency.THIS_VISIT,
                f"The run-out at the {last.bearing} has grown by {grown:.1f} µm since "
                f"{_day(first)}.",
                tuple((one, f"{_day(one)}: {one.runout_um:.1f} µm") for one in (first, last)),
            )


def life_used_up(machine, visit):
    """A bearing that has used up the share of its rating life the shop allows is watched, and
    replaced once the whole is used."""
    share = Thresholds.of(machine.shop).life_used_percent / 100
    for bearing in machine.bearings.select_related("part", "machine__shop"):
        hours, record = age_of(bearing)
        if hours is None or bearing.rating is None:
            continue
        used = life_used(hours, bearing.rating)
        if used.share >= share:
            yield _replace(
                bearing,
                "life used up",
                Urgency.THIS_VISIT if used.share >= 1 else Urgency.WATCH,
                f"The {bearing} has run {used.sentence}",
                ((record, f"{hours:,.0f} h run"),),
            )


RULES = [zone_c_or_d, rough_feel, runout_that_grew, life_used_up]
