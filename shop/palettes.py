"""Colours of the figures: for a light page, a dark page, and print.

Green, red and yellow mean what ISO 22324 gives them: safe, danger, caution. No colour stands
alone: each comes with a word and a shape, and the shades differ in lightness, so that a grey
print can still be read.
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
    on_not_proven: Color


LIGHT = Palette(
    background=HexColor("#ffffff"),
    paper=HexColor("#ffffff"),
    ink=HexColor("#1b1f23"),
    muted=HexColor("#56606b"),
    rule=HexColor("#b4bcc5"),
    faint=HexColor("#e9edf1"),
    band=HexColor("#d3dde7"),
    accent=HexColor("#1f4e79"),
    within=HexColor("#1e7b34"),
    outside=HexColor("#b3261e"),
    not_proven=HexColor("#f2b705"),
    on_not_proven=HexColor("#1b1f23"),
)

DARK = Palette(
    background=HexColor("#14181c"),
    paper=HexColor("#14181c"),
    ink=HexColor("#e8ecef"),
    muted=HexColor("#a7b1bb"),
    rule=HexColor("#4a545e"),
    faint=HexColor("#20272e"),
    band=HexColor("#2d3b49"),
    accent=HexColor("#7db3e8"),
    within=HexColor("#5cc47a"),
    outside=HexColor("#ff7b72"),
    not_proven=HexColor("#f5c945"),
    on_not_proven=HexColor("#14181c"),
)

PRINT = Palette(
    background=None,
    paper=HexColor("#ffffff"),
    ink=HexColor("#111315"),
    muted=HexColor("#4a525a"),
    rule=HexColor("#a5adb5"),
    faint=HexColor("#eef0f2"),
    band=HexColor("#d9dfe5"),
    accent=HexColor("#1f4e79"),
    within=HexColor("#1e7b34"),
    outside=HexColor("#a31b14"),
    not_proven=HexColor("#ffcf33"),
    on_not_proven=HexColor("#111315"),
)

PALETTES = {"light": LIGHT, "dark": DARK, "print": PRINT}
