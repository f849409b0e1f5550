"""Colours of the figures: for a light page, a dark page, and print.

Green, red and yellow mean what ISO 22324 gives them: safe, danger, caution. No colour stands
alone: each comes with a word and a shape, and the shades differ in lightness, so that a grey
print can still be read. Light and dark agree with the site's style sheet.
"""

from dataclasses import dataclass

from reportlab.lib.colors import Color, HexColor


@dataclass(frozen=True)
class Palette:
    """``background`` is painted behind a figure (None: nothing); ``paper`` is what lies behind."""

    background: Color | None
    paper: Color
    ink: Color
    muted: Color
    rule: Color
    faint: Color
    band: Color
    accent: Color
    within: Color
    outside: Color
    not_proven: Color


LIGHT = Palette(
    background=HexColor("#ffffff"),
    paper=HexColor("#ffffff"),
    ink=HexColor("#10181e"),
    muted=HexColor("#43515c"),
    rule=HexColor("#a9b5bd"),
    faint=HexColor("#f1f5f6"),
    band=HexColor("#cfdeec"),
    accent=HexColor("#123f6b"),
    within=HexColor("#00693e"),
    outside=HexColor("#b00020"),
    not_proven=HexColor("#ffcf00"),
)

DARK = Palette(
    background=HexColor("#172127"),
    paper=HexColor("#172127"),
    ink=HexColor("#edf2f4"),
    muted=HexColor("#b4c1c9"),
    rule=HexColor("#5a6973"),
    faint=HexColor("#1f2b32"),
    band=HexColor("#2f4a63"),
    accent=HexColor("#93c8ff"),
    within=HexColor("#5cc47a"),
    outside=HexColor("#ff8a83"),
    not_proven=HexColor("#ffcf00"),
)

PRINT = Palette(
    background=None,
    paper=HexColor("#ffffff"),
    ink=HexColor("#111315"),
    muted=HexColor("#444c54"),
    rule=HexColor("#a5adb5"),
    faint=HexColor("#eff1f3"),
    band=HexColor("#d5dce3"),
    accent=HexColor("#123f6b"),
    within=HexColor("#00693e"),
    outside=HexColor("#a8001c"),
    not_proven=HexColor("#ffcf33"),
)

PALETTES = {"light": LIGHT, "dark": DARK, "print": PRINT}
