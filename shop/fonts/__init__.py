"""The typefaces of every document and figure, registered once, embedded in every PDF.

One narrow sans in two weights: its figures all have one width, so columns of numbers line up, and
it covers Latin, Greek, Cyrillic, Armenian, Georgian, Hebrew and Arabic. What it lacks prints as
an empty box or, for East Asian writing, in a typeface the reader's own program supplies.
"""

from functools import cache
from pathlib import Path

from reportlab.lib.fonts import addMapping
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.cidfonts import UnicodeCIDFont
from reportlab.pdfbase.ttfonts import TTFont

REGULAR = "DejaVuSansCondensed"
BOLD = "DejaVuSansCondensed-Bold"

# Browsers look for the same typeface by name, then for one that is no wider.
SVG_FAMILY = "'DejaVu Sans Condensed', 'Segoe UI', Roboto, 'Helvetica Neue', Arial, sans-serif"

# Standard East Asian typefaces of the PDF format: named in the file, supplied by the reader.
JAPANESE, KOREAN, CHINESE = "HeiseiKakuGo-W5", "HYGothic-Medium", "STSong-Light"

_FOLDER = Path(__file__).parent

for _name in (REGULAR, BOLD):
    pdfmetrics.registerFont(TTFont(_name, _FOLDER / f"{_name}.ttf", shapable=False))
for _bold, _italic in ((0, 0), (0, 1), (1, 0), (1, 1)):
    addMapping(REGULAR, _bold, _italic, BOLD if _bold else REGULAR)


def has_glyph(character):
    """Whether the embedded typeface can print the character."""
    return ord(character) in pdfmetrics.getFont(REGULAR).face.charToGlyph


@cache
def east_asian(name):
    """The name of an East Asian typeface, registered when it is first needed."""
    pdfmetrics.registerFont(UnicodeCIDFont(name))
    return name


def text_width(text, size, bold=False):
    """Width of one line of text, in points."""
    return pdfmetrics.stringWidth(text, BOLD if bold else REGULAR, size)
