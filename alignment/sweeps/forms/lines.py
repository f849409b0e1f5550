"""Readings as boxes of one line each: of a set round the clock, or of a column along a bar."""

from dataclasses import dataclass

from alignment.sheets.formatting import BARE_NUMBER
from shop.lengths import COUNTS


@dataclass(frozen=True)
class LineBox:
    """A box with what was typed into it; `um` None where nothing can be read yet.

    counted: what its number counts in, by name or by the box.
    """

    name: str
    place: str
    text: str
    um: float | None
    bare: bool
    counted: str


def line_box(bound, place, counts):
    """The `LineBox` of a bound field of a form that was cleaned."""
    typed = bound.form.cleaned_data.get(bound.name)
    text = f"{bound.value() or ''}".strip()
    bare = BARE_NUMBER.fullmatch(text) is not None
    counted = counts.unit if bare else _named(text, typed)
    um = None if typed is None else float(typed.value_um)
    return LineBox(bound.html_name, place, text, um, bare, counted)


def _named(text, typed):
    """The unit that was typed along, as one to count in."""
    for count in ("tenths", "thou"):
        if count.rstrip("s") in text.casefold():
            return count
    return typed.unit if typed is not None and typed.unit in COUNTS else "mm"
