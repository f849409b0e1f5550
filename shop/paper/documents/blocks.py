"""The parts a document is put together from. Each takes plain data and gives a flowable or a list
of them; text is printed exactly as it was typed."""

from __future__ import annotations

from dataclasses import dataclass

from reportlab.platypus import Flowable, KeepTogether, Table

from shop.paper.drawing import Pen, to_flowable, verdict_mark
from shop.paper.fonts.scripts import printable
from shop.paper.palettes import PRINT

from . import styles
from .flowables import Verdict
from .tables import LEAST_OF_A_ROW, keep_rows, padding
from .text import Text

TALLEST_FIGURE = styles.SHORTEST_PAGE - styles.TOP_LATER - styles.BOTTOM - 60
CAUTION_INDENT = 32


@dataclass(frozen=True)
class Evidence:
    """Something a finding rests on: what it is called, and what it is."""

    reference: str
    text: str


def heading(text, level=1) -> Flowable:
    """A heading of level 1 or 2; it enters the outline and never stands alone at a page's end."""
    shown = Text(text, styles.HEADINGS[level])
    shown.outline = (" ".join(printable(text).split()), level)
    return shown


def paragraph(text, small=False) -> Flowable:
    """Running text of any length; empty lines and line breaks are kept."""
    return Text(text, styles.SMALL if small else styles.BODY)


def verdict(word) -> Flowable:
    """A verdict by word, shape and colour; an empty word prints a dash."""
    return Verdict(word)


def caution_box(cautions, title="Caution") -> Flowable:
    """Printed cautions, framed, with the sign of a caution beside the word."""
    cautions = list(cautions)
    sign = Pen(14, 14, PRINT)
    verdict_mark(sign, "not proven", 7, 7, 13)
    sign.text(7, 3.2, "!", 9, PRINT.ink, "middle", bold=True)
    rows = [[to_flowable(sign.drawing, align="LEFT"), Text(title, styles.CAUTION_HEAD)]]
    rows += [["", Text(caution, styles.CELL)] for caution in cautions]
    table = Table(
        rows,
        colWidths=[CAUTION_INDENT, styles.TEXT_WIDTH - CAUTION_INDENT],
        splitInRow=LEAST_OF_A_ROW,
        spaceBefore=4,
        spaceAfter=styles.BLOCK_GAP,
        style=[
            *padding(2.4),
            ("BOX", (0, 0), (-1, -1), styles.MEDIUM, styles.HEAVY_RULE),
            ("LINEBEFORE", (0, 0), (0, -1), 4, styles.HEAVY_RULE, "butt"),
            ("LEFTPADDING", (0, 0), (0, -1), 11),
            ("TOPPADDING", (0, 0), (-1, 0), 6),
            ("BOTTOMPADDING", (0, -1), (-1, -1), 7),
        ],
    )
    keep_rows(table, 0, min(1, len(cautions)))
    return table


def figure(drawing, caption, width=None) -> Flowable:
    """A drawing, as vectors, with its caption; never parted from it, never taller than a page."""
    wanted = min(width or drawing.width, styles.TEXT_WIDTH)
    wanted = min(wanted, TALLEST_FIGURE / drawing.height * drawing.width)
    picture = to_flowable(drawing, wanted, align="LEFT")
    return KeepTogether([picture, Text(caption, styles.CAPTION)])


def figures_side_by_side(pairs) -> Flowable:
    """Several (drawing, caption) in one row, each as wide as the room allows."""
    pairs = list(pairs)
    width = styles.TEXT_WIDTH / len(pairs)
    cells = [
        [to_flowable(drawing, width - 10, align="LEFT"), Text(caption, styles.CAPTION)]
        for drawing, caption in pairs
    ]
    return Table(
        [cells],
        colWidths=[width] * len(pairs),
        style=[*padding(0), ("LEFTPADDING", (0, 0), (0, -1), 0)],
    )


def figures_in_rows(pairs, across) -> list[Flowable]:
    """(drawing, caption) pairs so many to a row, all of one width; a row is never parted."""
    pairs = list(pairs)
    width = styles.TEXT_WIDTH / across
    rows = [pairs[start : start + across] for start in range(0, len(pairs), across)]
    return [
        Table(
            [[_captioned(*pair, width - 14) for pair in row] + [""] * (across - len(row))],
            colWidths=[width] * across,
            style=[
                *padding(0),
                ("LEFTPADDING", (0, 0), (-1, -1), 0),
                ("RIGHTPADDING", (0, 0), (-1, -1), 14),
                ("NOSPLIT", (0, 0), (-1, -1)),
            ],
        )
        for row in rows
    ]


def _captioned(drawing, caption, width):
    return [to_flowable(drawing, width, align="LEFT"), Text(caption, styles.CAPTION_CLOSE)]


def evidence_list(items) -> Flowable:
    """What a finding rests on, each with its reference."""
    return Table(
        [[Text(i.reference, styles.CELL_BOLD), Text(i.text, styles.CELL)] for i in items]
        or [["", Text("No evidence recorded.", styles.CELL)]],
        colWidths=[0.2 * styles.TEXT_WIDTH, 0.8 * styles.TEXT_WIDTH],
        splitInRow=LEAST_OF_A_ROW,
        spaceAfter=styles.BLOCK_GAP,
        style=[*padding(2), ("LEFTPADDING", (0, 0), (0, -1), 0)],
    )
