"""What a bare number counts in beside the boxes of a sweep: a unit, a part of it, divisions."""

from dataclasses import dataclass

from alignment.sheets.formatting import BARE_NUMBER
from alignment.sheets.layouts import is_box
from shop.lengths import COUNTS, DIVISIONS, TypedLength, in_other_unit
from shop.web.listing import whole_number

# The order of the chips under the thumb: what inch dials and metric dials are read in.
PARTS = frozenset({"tenths", "thou"})
CHIPS = ("tenths", "thou", "in", "um", "mm", DIVISIONS)


@dataclass(frozen=True)
class Counting:
    """What the readings of an entry count in, and what a division of the chosen dial is."""

    unit: str
    division: TypedLength | None = None

    def told_to(self, field):
        """Let a `ReadingField` read by it."""
        field.division = self.division
        field.take_unit(self.unit)

    @property
    def symbol(self):
        return COUNTS[self.unit]

    @property
    def words(self):
        """The symbol, of a division with what one is."""
        one = self.unit == DIVISIONS and self.division
        return f"{self.symbol} of {one.typed}" if one else self.symbol

    @property
    def chips(self):
        """(value, words, whether it is chosen, whether it can be) of each unit to count in."""
        return [
            (one, COUNTS[one], one == self.unit, one != DIVISIONS or self.division is not None)
            for one in CHIPS
        ]


def counting_of(data, unit, indicators):
    """The `Counting` of what was sent: `counts_in`, else the unit of the figures; one query."""
    counted = data.get("counts_in")
    pk = whole_number(data.get("indicator") or "")
    dial = indicators.filter(pk=pk).first() if pk else None
    return Counting(counted if counted in COUNTS else unit, dial and dial.division)


def counted_in_last(sweep):
    """What the readings of a stored sweep counted in, as far as they agree."""
    texts = [reading.typed for reading in sweep.readings.all()]
    if texts and all(f" {DIVISIONS} of " in text for text in texts):
        return DIVISIONS
    named = {text.rpartition(" ")[2] for text in texts}
    return named.pop() if len(named) == 1 and named <= PARTS else sweep.unit


def bare_boxes(data):
    """The names of the boxes in what was sent that hold a number without its unit."""
    return [
        name
        for name in data
        if is_box(name) and BARE_NUMBER.fullmatch(data[name]) and data[name].strip()
    ]


def counted_anew(data, wanted, how):
    """(data, question) with the numbers of the boxes counting in `wanted`.

    how: "stay" for the same digits in the new unit, "keep" for the same lengths, which are then
    named in the old one; "" asks, where numbers are typed that it is a question for.
    """
    old = data.get("counts_in") or data.get("unit") or ""
    bare = bare_boxes(data)
    if wanted not in COUNTS or wanted == old:
        return data, None
    if bare and how not in ("stay", "keep"):
        shown = next((name for name in bare if data[name].strip("-+.,0 ")), bare[0])
        return data, CountQuestion(wanted, old, len(bare), data[shown].strip())
    named = dict.fromkeys(bare, "") if how == "keep" and old in COUNTS else {}
    for name in named:
        named[name] = _named_in(data[name], old)
    return {**data, **named, "counts_in": wanted}, None


def read_as(data, count, names):
    """What was sent, the numbers in some of its boxes meant in another unit."""
    wanted = [name for name in names.split() if is_box(name) and name in data]
    if count not in COUNTS:
        return data
    return {**data, **{name: _named_in(data[name], count) for name in wanted}}


def _named_in(text, count):
    try:
        return in_other_unit(text, count)
    except (ValueError, AttributeError):  # what cannot be read stays for its box to say so
        return text


@dataclass(frozen=True)
class CountQuestion:
    """What is asked before numbers that are typed count in something else."""

    wanted: str
    old: str
    count: int
    first: str

    @property
    def words(self):
        typed = "A number is typed." if self.count == 1 else f"{self.count} numbers are typed."
        return f"{typed} What is {self.first}?"

    @property
    def choices(self):
        """(wish, words on its button)."""
        return [
            (f"count:{self.wanted}:stay", f"{self.first} {COUNTS[self.wanted]}"),
            (
                f"count:{self.wanted}:keep",
                f"{self.first} {COUNTS.get(self.old, self.old)}, as typed",
            ),
        ]
