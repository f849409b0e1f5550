"""What is said of a drift on pages and in print."""

import math
from decimal import Decimal

from alignment.geometry.frame import FRONT, OPPOSITE, UP
from alignment.geometry.measure.verdict import points_off
from alignment.sheets import formatting
from alignment.sheets.directions import WORDS, comes_to_something, plus_of
from shop.lengths import UNIT_SYMBOLS, format_length
from shop.web.wording import day_text

from .clock import DAYS_PER_YEAR, Per

AXES = {FRONT: "to the front or rear", UP: "up or down", None: ""}
# Closer to none or to all a forecast from a few visits does not tell.
LEAST_CHANCE, MOST_CHANCE = 0.01, 0.99


def chance_words(chance):
    """A chance in whole per cent, "not known" for None."""
    if chance is None:
        return "not known"
    if chance < LEAST_CHANCE:
        return "under 1 %"
    return "over 99 %" if chance > MOST_CHANCE else f"{100 * chance:.0f} %"


def chance_or_more(chance, *, loose):
    """The same; of what was knocked or moved since it was measured, at least so much."""
    if not loose:
        return chance_words(chance)
    if chance is None or chance < LEAST_CHANCE:
        return "not known"
    return f"{chance_words(chance)} or more"


def risk_words(risk):
    return f"{100 * risk:g} %"


def length(value_um, unit, item, *, signed=False):
    """A length of an item to the place of an uncertainty, per its stated length for a tilt."""
    text = formatting.length(
        value_um, unit, signed=signed, places=formatting.UNCERTAINTY_PLACES[unit]
    )
    return f"{text} {formatting.per_words(item.per_mm, unit)}" if item.is_tilt else text


def figure(value_um, unit, item):
    """What an item's figure is, with its direction where it has one."""
    return formatting.measure(value_um, unit, item, places=formatting.UNCERTAINTY_PLACES[unit])


def plus_of_parts(um, item):
    """Where the plus of each part of a vector points; (None,) of a size alone."""
    return (FRONT, UP) if len(um) == 2 else (plus_of(item.quantity),)


def _part(um, plus, unit, item):
    """A part with its direction; of a size alone, with a sign that says whether it grows."""
    if plus is None:
        return length(um, unit, item, signed=True)
    text = length(abs(um), unit, item)
    return f"{text} {_way(um, plus)}" if comes_to_something(text) else text


def _way(um, plus):
    return WORDS[plus if um >= 0 else OPPOSITE[plus]]


def vector(um, unit, item):
    """(front, up) as its two parts, each with its direction, or a figure."""
    if um is None:
        return "not known"
    parts = vector_parts(um, unit, item)
    return ", ".join(filter(comes_to_something, parts)) or parts[0]


def vector_parts(um, unit, item):
    """The parts of a vector with their directions; a size alone has its sign instead."""
    return [
        _part(part, plus, unit, item)
        for part, plus in zip(um, plus_of_parts(um, item), strict=True)
    ]


def size(um, unit, item):
    """How far a move or a rate goes, in whatever direction."""
    return length(math.hypot(*um), unit, item)


def rate_rows(drift, unit):
    """(part, rate, 95 % interval) of each part of the rate, as text."""
    rate = drift.rate
    if rate is None:
        return []
    rows = []
    for place, told in enumerate(vector_parts(rate.um, unit, drift.item)):
        interval = _interval(rate, place, unit, drift.item)
        axis = AXES[plus_of_parts(rate.um, drift.item)[place]]
        rows.append((axis, f"{told} per {rate.per}", interval))
    return rows


def _interval(rate, place, unit, item):
    if rate.low_um is None or rate.high_um is None:
        return "not known"
    return ends_words(rate.low_um, rate.high_um, place, unit, item)


def ends_words(low_um, high_um, place, unit, item):
    """One part's interval: "0.0003 to 0.0010 mm to the front" for a direction, the
    ends with their signs for a size alone."""
    low, high, plus = low_um[place], high_um[place], plus_of_parts(low_um, item)[place]
    if plus is None:
        return f"{bare(low, unit)} to {length(high, unit, item, signed=True)}"
    ends = [(abs(um), _way(um, plus)) for um in sorted((low, high), key=abs)]
    (near, near_way), (far, far_way) = ends
    if near_way == far_way:
        return f"{_size(near, unit)} to {length(far, unit, item)} {far_way}"
    return f"between {length(far, unit, item)} {far_way} and {length(near, unit, item)} {near_way}"


def _size(um, unit):
    return format_length(um, unit, places=formatting.UNCERTAINTY_PLACES[unit])


def bare(value_um, unit):
    """A signed figure that stands before another of its unit."""
    return format_length(value_um, unit, signed=True, places=formatting.UNCERTAINTY_PLACES[unit])


def speed_words(drift, unit):
    """How fast and where to, such as "0.0031 mm to the rear, 0.0010 mm up, per year"; "not known"
    without."""
    rate = drift.rate
    if rate is None:
        return "not known"
    if len(rate.um) == 1:
        return f"{vector(rate.um, unit, drift.item)} per {rate.per}"
    return f"{vector(rate.um, unit, drift.item)}, per {rate.per}"


def interval_words(drift, unit):
    """The 95 % interval of the rate, part by part."""
    rate = drift.rate
    if rate is None or rate.low_um is None or rate.high_um is None:
        return "not known"
    return "; ".join(_interval(rate, place, unit, drift.item) for place in range(len(rate.um)))


def elapsed_words(move, per):
    """How long an interval lasted, in spindle hours or in days."""
    if per == Per.HOURS:
        return f"{1000 * move.elapsed:,.0f} h"
    days = round(DAYS_PER_YEAR * move.elapsed)
    return f"{days:,} day{'' if days == 1 else 's'}"


def step_words(move, unit, item):
    """What an incident did beyond wear, with its 95 % interval; "" without an incident."""
    if not move.knocks:
        return ""
    if move.step_um is None:
        return "not known"
    told = vector(move.step_um, unit, item)
    if move.step_low_um is None or move.step_high_um is None:
        return f"{told} (interval not known)"
    ends = "; ".join(
        ends_words(move.step_low_um, move.step_high_um, place, unit, item)
        for place in range(len(move.step_um))
    )
    return f"{told} (95 %: {ends})"


def outlook_words(drift):
    """When it drifts out, or why nobody can say, in a sentence."""
    series, risk = drift.series, risk_words(drift.risk)
    if series.last is None:
        return "No visit has measured it yet: measure it, and again at the next visit."
    if not drift.position_known:
        knocked = " No forecast covers a knock." if drift.disturbed else ""
        return f"{_sentence(series.state.words)}{knocked}"
    if drift.chance is None:
        return "No forecast can be made yet: measure it again at the next visit."
    if drift.is_past:
        return f"The chance of being outside is past {risk} already: check now."
    if drift.risk_day is not None and drift.risk_day <= drift.today:
        return (
            f"The chance of being outside may be past {risk} already, its newest check resting on "
            "few readings: check now."
        )
    if drift.risk_day is None:
        return f"By drift alone the chance of being outside stays under {risk} {_how_long(series)}."
    return (
        f"The chance of being outside passes {risk} on {day_text(drift.risk_day)} "
        f"({_interval_of_day(drift)})."
    )


def _sentence(words):
    return f"{words[:1].upper()}{words[1:]}."


def _how_long(series):
    if series.clock.meter is not None and not series.clock.meter.per_day:
        return "for as long as the spindle stands still"
    return "for five years to come"


def _interval_of_day(drift):
    earliest = day_text(drift.earliest) if drift.earliest else "not within five years"
    latest = day_text(drift.latest) if drift.latest else "not within five years"
    return f"95 %: {earliest} to {latest}"


def next_check_words(drift):
    """The day to check by as text."""
    if drift.next_check is None:
        return "not by drift" if drift.chance is not None else "not known"
    return "now" if drift.next_check <= drift.today else day_text(drift.next_check)


def change_words(drift, unit):
    """The last move held against wear, in a sentence; "" where there is none to tell."""
    if drift.change is None or drift.change_since is None:
        return ""
    since = day_text(drift.change_since)
    if not float(bare(math.hypot(*drift.change.moved_um[0]), unit)):
        return f"Not moved since {since}."
    symbol = UNIT_SYMBOLS[unit]
    if drift.item.is_tilt:
        symbol = f"{symbol} {formatting.per_words(drift.item.per_mm, unit)}"
    said = drift.change.sentence(
        0,
        since,
        unit=symbol,
        show=lambda um: format_length(um, unit, places=formatting.UNCERTAINTY_PLACES[unit]),
    )
    said = f"{said[:1].upper()}{said[1:]}."
    if drift.grown and not drift.change.unusual[0]:
        said += (
            " Taken together, its last moves have left what the ones before lead one to expect: "
            "the drift has changed."
        )
    return said


def notes(drift, unit):
    """What the reader should know of the figures, one sentence each."""
    told = [drift.note] if drift.note else []
    told += _changed_limits(drift, unit)
    if drift.series.counts != 1.0:
        form = length(drift.series.form_um, unit, drift.item)
        told.append(
            "It is followed by the offset its sweeps give, which a run-out counts twice; the "
            f"out-of-round of {form} at the last check is taken to stay."
        )
    if drift.chance is not None and drift.series.parts == 2 and drift.position_known:
        told.append(
            "The bands of how far off it may be lie a little too far out where it stands near its "
            "place: 95 % holds in 92 of 100."
        )
    off = points_off(drift.start_dof, drift.start_share)
    if drift.chance is not None and off:
        told.append(
            f"The newest check's uncertainty rests on {drift.start_dof:.1f} degrees of freedom, "
            f"so the chance of being outside may be off by up to {off} points in a hundred. Read "
            "more points at the next check, or choose the indicator."
        )
    week = drift.series.clock.hours_a_week
    if drift.rate is not None and week is not None:
        told.append(f"Days are reckoned at {week:.0f} spindle hours a week, at recent use.")
    visits = drift.series.visits
    if unread := drift.series.clock.unread([visit.day for visit in visits]):
        told.append(
            f"No hours were read at {unread} of {len(visits)} visits: they are reckoned between "
            "the readings, which makes intervals wider than they need be. Read the meter at every "
            "visit."
        )
    return told


def notes_of(drifts, unit):
    """The `notes` of several items on paper, each told once behind the items it is of."""
    told = {}
    for one in drifts:
        for note in notes(one, unit):
            told.setdefault(note, []).append(str(one.item))
    return [
        note if len(of) == len(drifts) else f"{'; '.join(of)}: {note}" for note, of in told.items()
    ]


def _changed_limits(drift, unit):
    """A sentence for each change of the limits from one visit to the next, and to the sheet's."""
    said = None
    item = drift.item
    now = tuple(None if um is None else float(um) for um in (item.lower_um, item.upper_um))
    steps = [
        (f"at visit {visit.number}", one.limits)
        for visit in drift.series.visits
        for one in (visit.found, visit.left)
        if one is not None
    ]
    for where, limits in [*steps, ("with the sheet in force", now)]:
        if said is not None and not _alike(said, limits):
            yield (
                f"The tolerance changed from {_limits(said, unit, item)} "
                f"to {_limits(limits, unit, item)} "
                f"{where}; drift stays what it is, and the forecast takes the newest."
            )
        said = limits


def _alike(one, other):
    return all(
        (a is None) == (b is None) and (a is None or math.isclose(a, b, abs_tol=1e-6))
        for a, b in zip(one, other, strict=True)
    )


def _limits(limits, unit, item):
    """Limits as a sheet states them: kept with four places, they come back digit for digit."""
    exact = (None if um is None else Decimal(f"{um:.4f}") for um in limits)
    return formatting.limits_between(*exact, unit, item.quantity)
