"""Readings that are asked about before they count: beyond the dial, or out of all proportion."""

from dataclasses import dataclass

from alignment.geometry.measure.doubt import doubtful, likely, usual_um
from alignment.sheets import formatting
from shop.lengths import COUNTS, in_other_unit, parse_length
from shop.rounding import rounded

from .comparison import last_left

# Which units a number that is too large in one may have been meant in, the likeliest first.
MEANT = {
    "in": ("thou", "tenths", "mm", "um"),
    "thou": ("tenths", "um"),
    "tenths": ("um",),
    "mm": ("um", "tenths", "thou"),
    "um": (),
    "div": ("um",),
}
MOST_WAYS = 2


@dataclass(frozen=True)
class Doubt:
    """What is asked about readings.

    names: of their boxes; words: the question; ways: (wish, words) of each unit to read them in;
    sure: what says that they are right as they stand, as long as they do.
    """

    names: tuple[str, ...]
    words: str
    ways: tuple[tuple[str, str], ...]
    sure: str


def doubt_of(visit, item, entry):
    """The `Doubt` about an entry, None without one or where it was said to be right.

    Runs SQL (what it last was, the indicator) only where the tolerance alone raises a doubt.
    """
    boxes = [list(line) for line in entry.lines]
    tolerance = formatting.tolerance_of(item)
    found = _doubted(boxes, usual_um(tolerance, None), _range_um(entry))
    if not found:
        return None
    last = last_left(item, visit)
    last_um = None if last is None else float(last.told_um)
    usual = usual_um(tolerance, last_um)
    found = _doubted(boxes, usual, _range_um(entry))
    if not found or entry.form["sure"].value() == _sure(found):
        return None
    return Doubt(
        names=tuple(box.name for box in found),
        words=_question(found, entry, last_um),
        ways=tuple(_ways(found, entry, usual)),
        sure=_sure(found),
    )


def _doubted(lines, usual, range_um):
    """The boxes of all lines that are doubted."""
    return [
        line[place]
        for line in lines
        for place in doubtful([box.um for box in line], usual=usual, range_um=range_um)
    ]


def _range_um(entry):
    dial = entry.form.cleaned_data.get("indicator")
    return None if dial is None or dial.range_um is None else float(dial.range_um)


def _sure(found):
    return " ".join(f"{box.name}={box.text}" for box in found)[:400]


def _question(found, entry, last_um):
    worst = max(found, key=lambda box: abs(box.um))
    said = formatting.as_typed(worst.text, entry.counts.unit) if worst.bare else worst.text
    if last_um is None:
        return f"{said} at {worst.place} is far from usual"
    return f"{said} at {worst.place}, last {rounded(abs(last_um), entry.unit)}"


def _ways(found, entry, usual):
    """(wish, words) of the units that all of them may have been meant in."""
    worst = max(found, key=lambda box: abs(box.um))
    number = in_other_unit(worst.text, "um").rpartition(" ")[0]
    sizes = {one: float(parse_length(f"1 {COUNTS[one]}", "um")) for one in MEANT[worst.counted]}
    for unit in likely(float(parse_length(number, "um")), sizes, usual=usual)[:MOST_WAYS]:
        names = " ".join(box.name for box in found)
        yield f"reads:{unit}:{names}", in_other_unit(worst.text, unit)
