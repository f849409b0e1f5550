"""Labels for machines: number, name and a code that opens the machine's own short address."""

from dataclasses import dataclass
from functools import partial

from reportlab.lib.pagesizes import A4
from reportlab.lib.units import mm

from shop.documents import build_small, qr_code
from shop.drawing import Pen, to_flowable
from shop.fonts import text_width
from shop.palettes import PRINT

# Width and height in mm. Common sizes of label rolls; common practice, no source.
ROLLS = {
    "62x29": (62, 29),
    "89x36": (89, 36),
    "100x60": (100, 60),
}
SHEET = "a4"
# A sheet of 24 labels, three across and eight down, that fills an A4 page to its edges.
ACROSS, DOWN = 3, 8
ON_SHEET = (70, 37)
SHEET_EDGE = 3  # mm that a desk printer may leave white at the edge of the page
CHOICES = {
    "62x29": "label roll, 62 × 29 mm",
    "89x36": "label roll, 89 × 36 mm",
    "100x60": "label roll, 100 × 60 mm",
    SHEET: "A4 sheet of 24 labels, 70 × 37 mm: every machine of the shop",
}
SMALL_PRINT = 0.75  # of the label's unit of letter size; lines below it are never cut
WHAT_IT_IS_FOR = "Something happened? Log it here."


@dataclass(frozen=True)
class Label:
    """What stands on one machine's label."""

    number: str
    name: str
    shop: str
    address: str

    @property
    def plain_address(self):
        """The address as a hand copies it."""
        return self.address.split("://", 1)[-1]


def on_roll(label, size, meta, mark=""):
    """The PDF of one label, as large as its page; KeyError for a size there is none of.

    meta: the `DocumentMeta` of the file. mark: what small print at the foot says.
    """
    width, height = (side * mm for side in ROLLS[size])

    def draw(canvas):
        _draw(canvas, label, 0, 0, width, height, mark)

    return build_small(meta, (width, height), [(label.number, draw)])


def on_sheets(labels, meta, mark=""):
    """The PDF of A4 sheets with one label each, row by row from the top left."""
    sheets = _batched(labels, ACROSS * DOWN)
    return build_small(
        meta, A4, [(_outline(sheet), partial(_draw_sheet, sheet, mark)) for sheet in sheets]
    )


def _batched(items, size):
    """The items in lists of at most `size`."""
    items = list(items)
    return [items[start : start + size] for start in range(0, len(items), size)]


def _outline(sheet):
    first, last = sheet[0].number, sheet[-1].number
    return first if first == last else f"{first} to {last}"


def _draw_sheet(sheet, mark, canvas):
    width, height = (side * mm for side in ON_SHEET)
    left = (A4[0] - ACROSS * width) / 2
    top = A4[1] - (A4[1] - DOWN * height) / 2
    for place, label in enumerate(sheet):
        row, column = divmod(place, ACROSS)
        x, y = left + column * width, top - (row + 1) * height
        _draw(canvas, label, x, y, width, height, mark, inset=SHEET_EDGE * mm)


def _draw(canvas, label, x, y, width, height, mark, inset=1.5 * mm):
    """One label with its lower left corner at (x, y), in points."""
    side = min(height - 2 * inset, 0.45 * width)
    low = y + (height - side) / 2
    to_flowable(qr_code(label.address, side), align="LEFT").drawOn(canvas, x + inset, low)
    # The code keeps its own quiet zone, so the words may begin at its edge.
    words = _words(label, mark, width - side - 2 * inset - 2, height - 2 * inset)
    to_flowable(words, align="LEFT").drawOn(canvas, x + inset + side + 2, y + inset)


def _words(label, mark, width, height):
    """Number, name, shop, what the code is for, its address and the mark, from the top."""
    pen = Pen(width, height, PRINT)
    unit = min(height / 8.0, width / 9)
    lines = [
        (label.number, 2.0, True),
        (label.name, 1.05, True),
        (label.shop, 0.85, False),
        (WHAT_IT_IS_FOR, 0.72, False),
        (label.plain_address, 0.72, True),
        *([(mark, 0.5, False)] if mark else []),
    ]
    leading = 1.22
    top = (height + leading * unit * sum(size for _, size, _ in lines)) / 2
    for text, size, bold in lines:
        top -= leading * size * unit
        fits = _size_to_fit(text, width, size * unit, bold)
        if size < SMALL_PRINT:
            # What the code is for and the address are never cut: smaller letters still say them.
            pen.text(0, top, text, size=fits, bold=bold)
        else:
            pen.fitted(0, top, text, width, size=max(fits, SMALL_PRINT * unit), bold=bold)
    return pen.drawing


def _size_to_fit(text, width, size, bold):
    """The size, or the largest smaller one at which the text is no wider than `width`."""
    return min(size, 0.99 * size * width / text_width(text, size, bold))
