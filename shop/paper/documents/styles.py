"""Sizes, colours and paragraph styles of every printed document, in one place. Points."""

from reportlab.lib.colors import HexColor, white
from reportlab.lib.enums import TA_CENTER, TA_RIGHT
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm

from shop.paper.fonts import BOLD, REGULAR

# What stands on a page is as wide on each paper; the margins and the height take up the rest.
PAPER_SIZES = {"A4": A4, "Letter": LETTER}
PAGE_WIDTH, PAGE_HEIGHT = A4
SHORTEST_PAGE = min(height for _width, height in PAPER_SIZES.values())
SIDE = 20 * mm
TOP_FIRST = 16 * mm
TOP_LATER = 27 * mm
BOTTOM = 22 * mm
TEXT_WIDTH = PAGE_WIDTH - 2 * SIDE
FOOTER_AT = 12 * mm
HEADER_BELOW_TOP = 17 * mm

INK = HexColor("#111315")
MUTED = HexColor("#4d555d")
RULE = HexColor("#a9b1b8")
HEAVY_RULE = HexColor("#2b3136")
FAINT = HexColor("#f2f4f6")
DRAFT = HexColor("#e6e8ea")
PAPER = white

THIN = 0.4
MEDIUM = 0.9
CELL_GAP = 3.4
TIGHT_GAP = 1.5
BLOCK_GAP = 9


def _style(name, size=9, leading=None, **more):
    defaults = {
        "fontName": REGULAR,
        "textColor": INK,
        "splitLongWords": 1,
        "allowWidows": 0,
        "allowOrphans": 0,
    }
    return ParagraphStyle(
        name, fontSize=size, leading=leading or size * 1.4, **{**defaults, **more}
    )


BODY = _style("body", spaceAfter=5)
SMALL = _style("small", 7.6, 9.6, textColor=MUTED)
CELL = _style("cell", 8.6)
CELL_CLOSE = _style("cell close", 8.4, 10.6)
CELL_TIGHT = _style("cell tight", 7.3, 9)
CELL_BOLD = _style("cell bold", 8.6, fontName=BOLD)
CELL_RIGHT = _style("cell right", 8.6, alignment=TA_RIGHT)
CELL_RIGHT_BOLD = _style("cell right bold", 8.6, alignment=TA_RIGHT, fontName=BOLD)
CELL_CENTRE = _style("cell centre", 8.6, alignment=TA_CENTER)
COLUMN_HEAD = _style("column head", 7.8, 9.6, textColor=MUTED, fontName=BOLD)
COLUMN_HEAD_RIGHT = _style(
    "column head right", 7.8, 9.6, textColor=MUTED, fontName=BOLD, alignment=TA_RIGHT
)
COLUMN_HEAD_CENTRE = _style(
    "column head centre", 7.8, 9.6, textColor=MUTED, fontName=BOLD, alignment=TA_CENTER
)
LABEL = _style("label", 8.6, textColor=MUTED)
CAPTION = _style("caption", 8, 11, textColor=MUTED, spaceBefore=4, spaceAfter=6)
CAPTION_CLOSE = _style("caption close", 7.4, 9.2, textColor=MUTED, spaceAfter=5)
FIRM = _style("firm", 13, 16, fontName=BOLD)
ADDRESS = _style("address", 8, 11, textColor=MUTED)
ADDRESS_RIGHT = _style("address right", 8, 11, textColor=MUTED, alignment=TA_RIGHT)
TITLE = _style("title", 19, 24, fontName=BOLD)
NUMBER = _style("number", 9, 13, alignment=TA_RIGHT)
NOTE = _style("note", 9, 13, fontName=BOLD)
CAUTION_HEAD = _style("caution head", 9.2, 13, fontName=BOLD)
HEADINGS = {
    1: _style("heading 1", 12.5, 16, fontName=BOLD, spaceBefore=12, spaceAfter=4),
    2: _style("heading 2", 10, 14, fontName=BOLD, spaceBefore=10, spaceAfter=4),
}
