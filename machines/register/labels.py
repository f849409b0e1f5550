"""Labels for machines: number, name and a code that opens the machine's own short address."""

from dataclasses import dataclass
from functools import partial

from reportlab.lib.units import mm

from shop.paper.documents import build_small, qr_code
from shop.paper.documents.styles import PAPER_SIZES
from shop.paper.drawing import Pen, to_flowable
from shop.paper.fonts import text_width
from shop.paper.palettes import PRINT

# Width and height in mm. Common sizes of label rolls; common practice, no source.
ROLLS = {
    "62x29": (62, 29),
    "89x36": (89, 36),
    "100x60": (100, 60),
}


@dataclass(frozen=True)
class Sheet:
    """A sheet of labels that stands in the middle of its paper; lengths in mm.

    gap: between one column and the next. edge: what a desk printer may leave white of a label.
    """

    paper: str
    words: str
    width: float
    height: float
    down: int = 8
    across: int = 3
    gap: float = 0
    edge: float = 1.5

    @property
    def count(self):
        return self.across * self.down


INCH = 25.4
# Common sizes of label sheets, the first the one most at hand; common practice, no source.
SHEETS = {
    "a4": Sheet("A4", "70 × 37 mm", 70, 37, edge=3),
    "a4-gaps": Sheet("A4", "63.5 × 33.9 mm", 63.5, 33.9, gap=2.5),
    "letter": Sheet("Letter", "2⅝ × 1¼ in", 2.625 * INCH, 1.25 * INCH, gap=INCH / 8),
    "letter-30": Sheet("Letter", "2⅝ × 1 in", 2.625 * INCH, INCH, down=10, gap=INCH / 8),
}
ROLL_WORDS = {
    "62x29": "label roll, 62 × 29 mm",
    "89x36": "label roll, 89 × 36 mm",
    "100x60": "label roll, 100 × 60 mm",
}
SIZES = (*ROLLS, *SHEETS)
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


def choices_on(paper):
    """The sizes to choose from where people print on `paper`, 'A4' or 'Letter', in words."""
    sheets = {
        size: f"{paper} sheet of {sheet.count} labels, {sheet.words}: every machine of the shop"
        for size, sheet in SHEETS.items()
        if sheet.paper == paper
    }
    return ROLL_WORDS | sheets


def on_sheets(labels, size, meta, mark=""):
    """The PDF of sheets with one label each, row by row from the top left; KeyError for a size
    there is none of."""
    sheet = SHEETS[size]
    pages = _batched(labels, sheet.count)
    drawn = [(_outline(page), partial(_draw_sheet, page, sheet, mark)) for page in pages]
    return build_small(meta, PAPER_SIZES[sheet.paper], drawn)


def _batched(items, size):
    """The items in lists of at most `size`."""
    items = list(items)
    return [items[start : start + size] for start in range(0, len(items), size)]


def _outline(page):
    first, last = page[0].number, page[-1].number
    return first if first == last else f"{first} to {last}"


def _draw_sheet(page, sheet, mark, canvas):
    paper_width, paper_height = PAPER_SIZES[sheet.paper]
    width, height = sheet.width * mm, sheet.height * mm
    pitch = width + sheet.gap * mm
    left = (paper_width - sheet.across * pitch + sheet.gap * mm) / 2
    top = (paper_height + sheet.down * height) / 2
    for place, label in enumerate(page):
        row, column = divmod(place, sheet.across)
        x, y = left + column * pitch, top - (row + 1) * height
        _draw(canvas, label, x, y, width, height, mark, inset=sheet.edge * mm)


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
