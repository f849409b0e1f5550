"""Tables of documents: labels with values, and data under a head that repeats on every page."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from reportlab.platypus import Flowable, PageBreak, Table

from shop.paper.fonts import REGULAR

from . import styles
from .flowables import Verdict
from .text import Text

LABEL_SHARE = 0.28
ANSWER_SHARE = 0.17

# A row taller than a page is split inside, but never into slivers.
LEAST_OF_A_ROW = 48
VERDICT_WIDTH = 86
TALLEST_KEPT = styles.PAGE_HEIGHT / 3
GUTTER = 14
CARRY_HEIGHT = 20
ROWS_KEPT = 2

ALIGNMENTS = {
    "left": (styles.COLUMN_HEAD, styles.CELL, styles.CELL_BOLD),
    "right": (styles.COLUMN_HEAD_RIGHT, styles.CELL_RIGHT, styles.CELL_RIGHT_BOLD),
    "centre": (styles.COLUMN_HEAD_CENTRE, styles.CELL_CENTRE, styles.CELL_BOLD),
}


@dataclass(frozen=True)
class Column:
    """A table column. ``share`` is its part of the width beside the others; numbers go right."""

    title: str
    share: float = 1.0
    align: str = "left"


@dataclass(frozen=True)
class Carried:
    """What a table adds up over its pages: an amount for each row, how a sum is written, and what
    follows the table and does not stand on a page without its last rows."""

    amounts: Sequence[Decimal]
    words: Callable[[Decimal], str]
    followed_by: Flowable | None = None


def key_values(pairs, columns=1) -> Flowable:
    """Labels with their values, in one or two columns; values may be flowables."""
    pairs = list(pairs)
    rows = [pairs[n : n + columns] for n in range(0, len(pairs), columns)] or [[("", "")]]
    cells = [
        [cell for label, value in row for cell in (Text(label, styles.LABEL), _cell(value, "left"))]
        + [""] * 2 * (columns - len(row))
        for row in rows
    ]
    return _labelled(cells, LABEL_SHARE, 2.2, columns)


def answers(pairs) -> Flowable:
    """Short labels with texts of several lines, set closer than `key_values`."""
    cells = [[Text(label, styles.LABEL), Text(text, styles.CELL_CLOSE)] for label, text in pairs]
    return _labelled(cells, ANSWER_SHARE, 1.6)


def _labelled(cells, share, air, columns=1):
    width = styles.TEXT_WIDTH / columns
    table = Table(
        cells,
        colWidths=[share * width, (1 - share) * width] * columns,
        splitInRow=LEAST_OF_A_ROW,
        spaceAfter=styles.BLOCK_GAP,
        style=[
            *padding(air),
            ("LEFTPADDING", (0, 0), (0, -1), 0),
            ("LINEBELOW", (0, 0), (-1, -2), styles.THIN, styles.FAINT),
        ],
    )
    return table


def data_table(columns, rows, *, totals=0, zebra=False, carried=None, tight=False) -> Flowable:
    """A table whose head is repeated on every page it reaches.

    ``columns`` are ``Column``s or titles. Cells are text or flowables. The last ``totals`` rows
    are set off by a heavier rule and printed bold. A row taller than a page is split. With a
    ``Carried``, each page ends with the sum so far and the next begins with it. Raises ValueError
    for a row with another number of cells than there are columns. ``tight`` sets text to the left
    smaller and closer, for evidence of many rows.
    """
    columns = [c if isinstance(c, Column) else Column(c) for c in columns]
    rows = [list(row) for row in rows]
    for row in rows:
        if len(row) != len(columns):
            raise ValueError(f"A row has {len(row)} cells where the table has {len(columns)}.")
    head = [Text(column.title, ALIGNMENTS[column.align][0]) for column in columns]
    body = [
        [_cell(cell, column.align, bold, tight) for cell, column in zip(row, columns, strict=True)]
        for row, bold in zip(rows, _is_total(len(rows), totals), strict=True)
    ]
    table = _Pages(
        [head, *body],
        colWidths=_widths(columns, rows),
        repeatRows=1,
        splitInRow=LEAST_OF_A_ROW,
        spaceBefore=2,
        spaceAfter=styles.BLOCK_GAP,
        style=[
            *_table_rules(len(rows), totals, zebra, styles.TIGHT_GAP if tight else styles.CELL_GAP),
            *_gutters(columns),
        ],
    )
    table.carried = carried
    if totals:
        keep_rows(table, max(1, len(rows) - totals), len(rows))
    return table


class _Pages(Table):
    """A data table that can say at each page's end what it came to so far."""

    carried = None
    brought = Decimal(0)

    def wrap(self, available_width, available_height):
        width, height = super().wrap(available_width, available_height)
        self._fits = height <= available_height
        whole = height + self._height_after()
        return width, whole if self._fits and whole > available_height else height

    def _height_after(self):
        """Height of what follows; 0 for a table too short to leave its last rows to it."""
        after = self.carried and self.carried.followed_by
        if after is None or len(self._cellvalues) <= self.repeatRows + ROWS_KEPT:
            return 0
        return after.wrap(styles.TEXT_WIDTH, styles.PAGE_HEIGHT)[1] + self.getSpaceAfter()

    def split(self, available_width, available_height):
        if self.carried is None:
            return super().split(available_width, available_height)
        room = available_height - CARRY_HEIGHT
        if self._fits:
            room = min(room, sum(self._rowHeights[:-ROWS_KEPT]) + 1)
        parts = super().split(available_width, room)
        if len(parts) < 2:
            return parts
        first, rest = parts
        return self._carry(first, rest)

    def _carry(self, first, rest):
        amounts = list(self.carried.amounts)
        here, there = (len(part._cellvalues) - self.repeatRows for part in (first, rest))
        # A row that is split itself counts where it begins.
        begun = here + there - len(amounts)
        sum_so_far = self.brought + sum(amounts[:here], Decimal(0))
        rest.carried = replace(self.carried, amounts=[Decimal(0)] * begun + amounts[here:])
        rest.brought = sum_so_far
        words = self.carried.words(sum_so_far)
        return [
            first,
            _carry_line(f"Carried over  {words}"),
            PageBreak(),
            _carry_line(f"Brought forward  {words}"),
            rest,
        ]


def _carry_line(words):
    return Table(
        [[Text(words, styles.CELL_RIGHT_BOLD)]],
        colWidths=[styles.TEXT_WIDTH],
        rowHeights=[CARRY_HEIGHT],
        style=[*padding(2.4), ("VALIGN", (0, 0), (0, 0), "MIDDLE")],
    )


def keep_rows(table, first, last):
    """Hold rows together on one page, unless they are so tall that they must be split."""
    table.wrap(styles.TEXT_WIDTH, styles.PAGE_HEIGHT)
    if sum(table._rowHeights[first : last + 1]) <= TALLEST_KEPT:
        table.setStyle([("NOSPLIT", (0, first), (-1, last))])


def _widths(columns, rows):
    """Widths by share, but no verdict narrower than its words."""
    narrow = {n for row in rows for n, cell in enumerate(row) if isinstance(cell, Verdict)}
    fixed = {n: VERDICT_WIDTH for n in narrow if _by_share(columns)[n] < VERDICT_WIDTH}
    rest = _by_share(
        [c for n, c in enumerate(columns) if n not in fixed],
        styles.TEXT_WIDTH - sum(fixed.values()),
    )
    rest = iter(rest)
    return [fixed[n] if n in fixed else next(rest) for n in range(len(columns))]


def _by_share(columns, width=styles.TEXT_WIDTH):
    whole = sum(column.share for column in columns)
    return [width * column.share / whole for column in columns]


def _is_total(rows, totals):
    return [index >= rows - totals for index in range(rows)]


def _table_rules(rows, totals, zebra, gap=styles.CELL_GAP):
    rules = [
        *padding(gap),
        ("VALIGN", (0, 0), (-1, 0), "BOTTOM"),
        ("LINEBELOW", (0, 0), (-1, 0), styles.MEDIUM, styles.HEAVY_RULE),
        ("LINEBELOW", (0, 1), (-1, -1), styles.THIN, styles.RULE),
    ]
    if zebra:
        rules += [("BACKGROUND", (0, n), (-1, n), styles.FAINT) for n in range(2, rows + 1, 2)]
    if totals:
        above = (0, -totals), (-1, -totals)
        rules.append(("LINEABOVE", *above, styles.MEDIUM, styles.HEAVY_RULE))
    return rules


def _gutters(columns):
    """More room where words follow numbers, which would all but touch."""
    return [
        ("LEFTPADDING", (n, 0), (n, -1), GUTTER)
        for n in range(1, len(columns))
        if columns[n - 1].align == "right" and columns[n].align != "right"
    ]


def padding(vertical):
    """The style every table starts from, with so much air above and below its cells."""
    return [
        ("FONTNAME", (0, 0), (-1, -1), REGULAR),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("TOPPADDING", (0, 0), (-1, -1), vertical),
        ("BOTTOMPADDING", (0, 0), (-1, -1), vertical),
        ("LEFTPADDING", (0, 0), (-1, -1), 4),
        ("RIGHTPADDING", (0, 0), (-1, -1), 4),
    ]


def _cell(value, align, bold=False, tight=False):
    if isinstance(value, Flowable) or (isinstance(value, list) and value):
        return value
    _, plain, strong = ALIGNMENTS[align]
    if tight and align == "left":
        plain = styles.CELL_TIGHT
    return Text("" if value is None or value == [] else value, strong if bold else plain)
