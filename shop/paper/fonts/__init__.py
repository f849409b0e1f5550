"""The typeface of every document and figure, registered once, embedded in every PDF.

One sans in two weights: its figures all have one width, so columns of numbers line up, and it
covers Latin, Greek, Cyrillic, Armenian, Georgian, Hebrew, Arabic, kana, Hangul and the Han
characters of Unicode's first block. What it lacks, such as the scripts of India or Thai, prints as
an empty box. The bold weight has East Asian letters no bolder than the regular one.
"""

from pathlib import Path

from reportlab.lib.fonts import addMapping
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

REGULAR = "SweepbookSans"
BOLD = "SweepbookSans-Bold"

# Browsers look for the same letters by name, then for a typeface that is no wider.
SVG_FAMILY = "'DejaVu Sans Condensed', 'Segoe UI', Roboto, 'Helvetica Neue', Arial, sans-serif"

_FOLDER = Path(__file__).parent

for _name in (REGULAR, BOLD):
    pdfmetrics.registerFont(TTFont(_name, _FOLDER / f"{_name}.ttf", shapable=False))
for _bold, _italic in ((0, 0), (0, 1), (1, 0), (1, 1)):
    addMapping(REGULAR, _bold, _italic, BOLD if _bold else REGULAR)


def text_width(text, size, bold=False):
    """Width of one line of text, in points."""
    return pdfmetrics.stringWidth(text, BOLD if bold else REGULAR, size)
