"""What makes a document stand up: signatures, and where to check that it is the one issued."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

import segno
from reportlab.graphics.shapes import Drawing, Rect
from reportlab.platypus import Flowable, KeepTogether, Spacer, Table

from shop.paper.fonts import REGULAR

from . import styles
from .flowables import Rule, SignatureStrokes
from .tables import padding
from .text import Text

CODE_SIZE = 62
SIGNATURE_ROOM = 38


@dataclass(frozen=True)
class Signature:
    """One person's signature; ``signed_at`` as it is to be printed, empty when not signed yet.

    ``strokes`` are lists of (x, y) points, y counting downwards. ``typed_by`` names who signed in
    with a password and entered the name, where that is another person.
    """

    role: str
    name: str = ""
    signed_at: str = ""
    strokes: Sequence[Sequence[tuple[float, float]]] = ()
    typed_by: str = ""

    @property
    def without_a_line(self):
        """What stands in the place of a line that nobody drew."""
        if self.typed_by:
            return f"Agreed by {self.name}, signed with password by {self.typed_by}"
        return f"Signed with password by {self.name}"

    @property
    def when(self):
        return f"signed {self.signed_at}" if self.signed_at else "not signed"

    @property
    def words(self):
        """The signature on one line."""
        return f"{self.name}, {self.role}, {self.when}"


def signature_block(signatures) -> Flowable:
    """Signatures two beside each other: the drawn line or room for one, name, role and time."""
    width = (styles.TEXT_WIDTH - 24) / 2
    cells = [_signature(signature, width) for signature in signatures]
    cells += [""] * (len(cells) % 2)
    rows = [[cells[n], "", cells[n + 1]] for n in range(0, len(cells), 2)]
    table = Table(
        rows or [["", "", ""]],
        colWidths=[width, 24, width],
        spaceBefore=8,
        style=[*padding(6), ("LEFTPADDING", (0, 0), (-1, -1), 0)],
    )
    return KeepTogether([table])


def _signature(signature, width):
    """What was drawn, or room to draw; who signed without a line has no empty one above."""
    about = Text(f"{signature.role}, {signature.when}", styles.SMALL)
    if signature.signed_at and not signature.strokes:
        return [Text(signature.without_a_line, styles.CELL_BOLD), about]
    line = Spacer(width, SIGNATURE_ROOM)
    if signature.strokes:
        line = SignatureStrokes(signature.strokes, width - 40)
    return [
        line,
        Rule(styles.MEDIUM, styles.HEAVY_RULE, after=3),
        Text(signature.name or " ", styles.CELL_BOLD),
        about,
    ]


def check_block(address, code, chain="") -> Flowable:
    """Where a reader can check that the file is the one that was issued: a QR code, the address
    and the short code to compare; and how far the chain of records went then. It
    stays with what precedes it."""
    words = [
        Text("Check this document", styles.CELL_BOLD),
        Text(address, styles.CELL),
        Text(f"Code {code}", styles.CELL),
    ]
    if chain:
        words.append(Text(f"Chain of records when it was issued: {chain}", styles.SMALL))
    table = Table(
        [[qr_code(address), words]],
        colWidths=[CODE_SIZE + 10, styles.TEXT_WIDTH - CODE_SIZE - 10],
        spaceBefore=styles.BLOCK_GAP,
        style=[
            *padding(0),
            ("LEFTPADDING", (0, 0), (0, -1), 0),
            ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
        ],
    )
    block = KeepTogether([table])
    block.follows = True
    return block


def qr_code(text, size=CODE_SIZE) -> Drawing:
    """A QR code as vectors, with the four modules of quiet zone ISO/IEC 18004 asks for."""
    rows = list(segno.make(text, error="m").matrix_iter(border=4))
    module = size / len(rows)
    drawing = Drawing(size, size, initialFontName=REGULAR)
    for row, modules in enumerate(rows):
        low, column = size - (row + 1) * module, 0
        for dark, run in groupby(modules):
            width = len(list(run))
            if dark:
                bar = (column * module, low, width * module, module)
                drawing.add(Rect(*bar, fillColor=styles.INK, strokeColor=None))
            column += width
    return drawing
