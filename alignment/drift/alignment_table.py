"""A machine's alignment as one table: where each line of its sheet stands, how much of its
tolerance that uses, which way it drifts and by when it is to be checked."""

import math
from dataclasses import dataclass

from alignment.geometry.drift.tolerance import share_used
from alignment.sheets.directions import SHORT
from alignment.sheets.formatting import limits, measure, per_words
from alignment.sweeps.chain_states import ItemState

from .items import ItemDrift
from .words import next_check_words

# The bar's length in its own units: the limit stands at 100, what is farther out ends at 140.
LONGEST = 140
OUTWARD, INWARD, UNSURE = "outward", "inward", "no drift proven"


@dataclass(frozen=True)
class AlignmentRow:
    """One line of the sheet. ``used``: per cent of the tolerance, None where that cannot be said;
    ``trend``: OUTWARD, INWARD or UNSURE, "" where nothing is known of its drift."""

    number: int
    one: ItemState
    now: str
    per: str
    limit: str
    used: int | None
    trend: str
    check_by: str

    @property
    def asks(self):
        """What is to be done where its figure no longer counts, "" where it does."""
        return "measure again" if self.one.state.was_measured and not self.one.state.counts else ""

    @property
    def bar(self):
        return min(self.used, LONGEST)


def rows_of(chain, drifts, unit):
    """[(number, station's state, its rows)] in checking order; drifts: the `ItemDrift`s."""
    of_item = {drift.item.pk: drift for drift in drifts}
    return [
        (number, state, [_row(number, one, of_item.get(one.item.pk), unit) for one in state.items])
        for number, state in enumerate(chain, start=1)
    ]


def _row(number, one, drift, unit):
    held = one.newest or one.item
    used = None
    if one.newest is not None:
        used = share_used(one.newest.told_um, *held.limits_um)
    return AlignmentRow(
        number=number,
        one=one,
        now=_now(one.newest, unit) if one.newest else "",
        per=per_words(held.per_mm, unit) if one.item.is_tilt else "",
        limit=limits(held, unit),
        used=None if used is None else round(100 * used),
        trend=_trend(drift),
        check_by=_check_by(one, drift),
    )


def _now(check, unit):
    return measure(check.told_um, unit, check, words=SHORT, per=False)


def _check_by(one, drift):
    """By when to check it, as a list says it; "" where its figure tells nothing of that."""
    if drift is None or not one.state.counts or drift.chance is None:
        return ""
    told = next_check_words(drift)
    if drift.next_check is None:
        return told
    return "check now" if told == "now" else f"check by {told}"


def _known(drift):
    return drift is not None and drift.rate is not None and drift.position_known


def _trend(drift: ItemDrift | None):
    """Which way it goes, where the 95 % interval of its rate leaves no rest out of the question."""
    if not _known(drift):
        return ""
    rate = drift.rate
    if rate.low_um is None or rate.high_um is None:
        return UNSURE
    ends = zip(rate.low_um, rate.high_um, strict=True)
    if all(min(low, high) <= 0 <= max(low, high) for low, high in ends):
        return UNSURE
    standing = drift.series.last.standing
    if standing is None:
        return UNSURE
    along = math.fsum(a * b for a, b in zip(rate.um, standing.vector_um, strict=True))
    return OUTWARD if along >= 0 else INWARD
