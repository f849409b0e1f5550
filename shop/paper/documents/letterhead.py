"""The head of a document's first page: the firm, the title, and what the document is about."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO

from PIL import Image, UnidentifiedImageError
from reportlab.lib.units import mm
from reportlab.platypus import Image as Picture
from reportlab.platypus import Spacer, Table

from shop.paper.fonts import REGULAR

from . import styles
from .flowables import Rule
from .tables import key_values
from .text import Text

LOGO_WIDTH = 52 * mm
LOGO_HEIGHT = 17 * mm
LOGO_GAP = 14
LOGO_PIXELS = (900, 300)
LARGEST_LOGO = 30_000_000
PLAIN = [
    ("FONTNAME", (0, 0), (-1, -1), REGULAR),
    *[(f"{side}PADDING", (0, 0), (-1, -1), 0) for side in ("LEFT", "RIGHT", "TOP", "BOTTOM")],
]


@dataclass(frozen=True)
class Letterhead:
    """The firm a document comes from; ``logo`` is an image file of any common kind."""

    name: str
    address: Sequence[str] = ()
    contact: Sequence[str] = ()
    logo: bytes | None = None


def opening(meta):
    """What the first page begins with."""
    story = [
        _firm(meta.firm),
        Rule(styles.MEDIUM, styles.HEAVY_RULE, before=7, after=16),
        _title(meta),
    ]
    if meta.corrects:
        words = f"Corrects {meta.corrects}. This document takes its place."
        story += [Spacer(0, 9), _framed(words)]
    if meta.about:
        story += [Spacer(0, 10), key_values(meta.about, columns=2), Rule(after=4)]
    return story


def _firm(firm):
    logo = logo_picture(firm.logo)
    name = [Text(firm.name, styles.FIRM), Spacer(0, 2), _lines(firm.address, styles.ADDRESS)]
    contact = _lines(firm.contact, styles.ADDRESS_RIGHT)
    widths = [logo.drawWidth + LOGO_GAP] if logo else []
    rest = styles.TEXT_WIDTH - sum(widths)
    return Table(
        [[*([logo] if logo else []), name, contact]],
        colWidths=[*widths, 0.64 * rest, 0.36 * rest],
        style=[
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("VALIGN", (-1, 0), (-1, -1), "BOTTOM"),
            *PLAIN,
        ],
    )


def _lines(lines, style):
    return Text("\n".join(lines), style)


def _title(meta):
    return Table(
        [[Text(meta.title, styles.TITLE), Text(f"{meta.number}\n{meta.date}", styles.NUMBER)]],
        colWidths=[0.66 * styles.TEXT_WIDTH, 0.34 * styles.TEXT_WIDTH],
        style=[
            ("VALIGN", (0, 0), (-1, -1), "BOTTOM"),
            *PLAIN,
        ],
    )


def _framed(words):
    return Table(
        [[Text(words, styles.NOTE)]],
        colWidths=[styles.TEXT_WIDTH],
        style=[
            ("FONTNAME", (0, 0), (-1, -1), REGULAR),
            ("BOX", (0, 0), (-1, -1), styles.MEDIUM, styles.HEAVY_RULE),
        ],
    )


def logo_picture(data):
    """The logo fitted into its room; None without one, or when it is not an image that can be read.

    A report is not withheld because a stored picture went bad: it prints without.
    """
    if not data:
        return None
    try:
        file, (width, height) = _flattened(data)
    except (UnidentifiedImageError, Image.DecompressionBombError, OSError, ValueError, SyntaxError):
        return None
    scale = min(LOGO_WIDTH / width, LOGO_HEIGHT / height)
    return Picture(file, width * scale, height * scale, hAlign="LEFT")


def _flattened(data):
    """(PNG file, its size): the image on white, no larger than print needs."""
    with Image.open(BytesIO(data)) as image:
        if image.width * image.height > LARGEST_LOGO:
            raise ValueError("The logo has too many pixels.")
        image.thumbnail(LOGO_PIXELS)
        colours = image.convert("RGBA")
    paper = Image.new("RGBA", colours.size, "white")
    flat = Image.alpha_composite(paper, colours).convert("RGB")
    file = BytesIO()
    flat.save(file, "PNG")
    file.seek(0)
    return file, flat.size
