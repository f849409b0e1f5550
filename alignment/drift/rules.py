"""Replacement rules that the alignment app knows."""

from alignment.sweeps.models import Check
from machines.drive.advice import Advice
from machines.drive.models import Recommendation, Thresholds
from shop.web.wording import day_text

from . import drift_of, words


def station_that_keeps_drifting(machine, visit):
    """A station found outside at several visits in a row has something that does not hold it.

    How many visits are too many is the shop's to say; the default is common practice, no source.
    """
    enough = Thresholds.of(machine.shop).drifts_in_a_row
    rows = [row for row in _found_outside_in_a_row(machine).values() if len(row) >= enough]
    told = {one.item.pk: one for one in drift_of(machine)} if rows else {}
    for checks in rows:
        item = checks[0].item
        days = [(one, day_text(one.made_at.astimezone(machine.shop.zone))) for one in checks]
        yield Advice(
            rule="station that keeps drifting",
            subject=item.station.name,
            what=f"Look at what holds the {item.station.name}: bolts, dowels, jack screws, seats, "
            "bearings",
            urgency=Recommendation.Urgency.WATCH,
            reason=f"{item.name.capitalize()} was found outside at {len(checks)} visits in a row, "
            f"though it was set right each time.{_how_fast(told.get(item.pk), machine.shop)}",
            evidence=tuple((one, f"{day}: found outside") for one, day in days[:enough]),
        )


def _how_fast(drift, shop):
    """Its rate between visits with the interval, in a sentence; "" where the visits do not tell."""
    if drift is None or drift.rate is None or drift.rate.low_um is None:
        return ""
    unit = shop.length_unit
    return (
        f" Between visits it drifts by {words.speed_words(drift, unit)} "
        f"(95 %: {words.interval_words(drift, unit)})."
    )


def _found_outside_in_a_row(machine):
    """By item, the newest checks as found that are outside, down to the first that is not."""
    found = (
        Check.objects.filter(item__station__machine=machine, phase=Check.Phase.AS_FOUND)
        .not_superseded()
        .select_related("item__station", "visit")
        .newest_first()
    )
    rows, ended, visits = {}, set(), set()
    for check in found:
        if (check.item_id, check.visit_id) in visits or check.item_id in ended:
            continue
        visits.add((check.item_id, check.visit_id))
        if check.verdict == Check.Verdict.OUTSIDE:
            rows.setdefault(check.item_id, []).append(check)
        else:
            ended.add(check.item_id)
    return rows


RULES = [station_that_keeps_drifting]
