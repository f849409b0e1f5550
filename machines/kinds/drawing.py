"""A machine drawn from its data: its stations as boxes along the spindle's axis, with their names.

A plain view from above the operator's shoulder, not to scale: spindles and guide bushing in a row,
tool carriers above it, back tools below. An arrow leads from each station to its datum.
"""

from __future__ import annotations

from dataclasses import dataclass

from shop.paper.drawing import SMALL, Pen, listed, wrapped
from shop.paper.palettes import LIGHT

from .shape import KindStation, MachineKind

WIDTH = 360
MARGIN = 8
GAP = 18
LINE = 13
PADDING = 6
ROW_GAP = 24
NUMBER = 9
# Row of the drawing, from the top, that each kind of station stands in.
TOOLS, AXIS, BACK = range(3)
ROWS = {
    "headstock": AXIS,
    "guide bushing": AXIS,
    "sub-spindle": AXIS,
    "back tools": BACK,
    "gang tools": TOOLS,
    "turret": TOOLS,
    "other": BACK,
}
# Along the axis from the headstock on: spindles by what they are, the rest as they are checked.
ALONG = {"headstock": 0, "guide bushing": 1, "sub-spindle": 2}
COLUMNS = 3


@dataclass(frozen=True)
class Box:
    """A station's box: lower left corner, size, its name in lines and the axes that move it."""

    station: KindStation
    number: int
    x: float
    y: float
    width: float
    height: float
    lines: tuple[str, ...]
    axes: str

    @property
    def middle(self):
        return self.x + self.width / 2, self.y + self.height / 2


def machine_drawing(kind: MachineKind, palette=LIGHT):
    """The reportlab `Drawing` of a machine described as a `MachineKind`, `WIDTH` points wide."""
    boxes, height = _boxes(kind)
    pen = Pen(WIDTH, height, palette)
    axis = [box for box in boxes if ROWS[box.station.kind] == AXIS]
    if axis:
        y = axis[0].middle[1]
        pen.line(MARGIN, y, WIDTH - MARGIN, y, stroke=palette.rule, dash=(8, 3, 2, 3))
    by_key = {box.station.key: box for box in boxes}
    for box in boxes:
        if box.station.datum in by_key:
            _arrow(pen, box, by_key[box.station.datum])
    for box in boxes:
        _draw(pen, box)
    return pen.drawing


def describe(kind: MachineKind) -> str:
    """The drawing in words, for those who do not see it."""
    if not kind.stations:
        return "No station yet."
    names = {one.key: one.name for one in kind.stations}
    side = f"The headstock stands on the {kind.headstock_side}."
    told = [
        f"{number} {one.name}" + (f", measured from the {names[one.datum]}" if one.datum else "")
        for number, one in enumerate(kind.stations, start=1)
    ]
    axes = [f"{axis.name} moves the {listed(names[key] for key in axis.moves)}"
            for axis in kind.axes if axis.moves]  # fmt: skip
    return " ".join([side, "; ".join(told) + ".", *([listed(axes) + "."] if axes else [])])


def _boxes(kind):
    """Every station's `Box`, and the height of the drawing."""
    rows = [_in_row(kind, row) for row in (BACK, AXIS, TOOLS)]
    columns = max(COLUMNS, *map(len, rows))
    width = (WIDTH - 2 * MARGIN - (columns - 1) * GAP) / columns
    boxes, y = [], float(MARGIN)
    for stations in filter(None, rows):
        said = [_lines(one, width) for _, one in stations]
        height = (max(map(len, said)) + 1) * LINE + 2 * PADDING
        places = _columns(stations, columns)
        for (number, one), lines, column in zip(stations, said, places, strict=True):
            x = MARGIN + column * (width + GAP)
            if kind.headstock_side == "right":
                x = WIDTH - x - width
            boxes.append(Box(one, number, x, y, width, height, lines, _axes_of(kind, one)))
        y += height + ROW_GAP
    return boxes, (y - ROW_GAP if boxes else y) + MARGIN


def _lines(station, width):
    return tuple(wrapped(station.name, width - 2 * PADDING - NUMBER, SMALL))


def _in_row(kind, row):
    """(number in checking order, station) from the headstock on."""
    numbered = [(n, s) for n, s in enumerate(kind.stations, start=1) if ROWS[s.kind] == row]
    return sorted(numbered, key=lambda pair: (ALONG.get(pair[1].kind, len(ALONG)), pair[0]))


def _columns(stations, columns):
    """The column of each box of a row: a lone spindle where it belongs, tools from the guide
    bushing on, back tools up to the sub-spindle."""
    count = len(stations)
    kinds = [one.kind for _, one in stations]
    if ROWS[kinds[0]] == AXIS and len(set(kinds)) == count == len(set(kinds) & set(ALONG)):
        return [ALONG[kind] for kind in kinds]
    if ROWS[kinds[0]] == TOOLS:
        first = min(1, columns - count)
    else:
        first = columns - count if ROWS[kinds[0]] == BACK else 0
    return list(range(first, first + count))


def _axes_of(kind, station):
    return " ".join(axis.name for axis in kind.axes if station.key in axis.moves)


def _draw(pen, box):
    palette = pen.palette
    first = not box.station.datum
    pen.rect(
        box.x, box.y, box.width, box.height,
        fill=palette.band if first else palette.faint, stroke=palette.ink,
        line=1.6 if first else 1, radius=3,
    )  # fmt: skip
    y = box.y + box.height - PADDING - SMALL
    pen.text(box.x + PADDING, y, f"{box.number}", size=SMALL, bold=True, colour=palette.accent)
    for line in box.lines:
        pen.text(box.x + PADDING + NUMBER, y, line, size=SMALL)
        y -= LINE
    if box.axes:
        pen.fitted(
            box.x + PADDING + NUMBER, box.y + PADDING, box.axes, box.width - 2 * PADDING - NUMBER,
            size=SMALL, colour=palette.muted,
        )  # fmt: skip


def _arrow(pen, box, datum):
    """From a station's box to the edge of its datum's."""
    start, end = _edge(box, datum), _edge(datum, box)
    pen.arrow(*start, *end, stroke=pen.palette.accent, width=1.2)


def _edge(box, other):
    """Where the line to another box leaves this one: sideways in a row, else up or down."""
    y = box.middle[1]
    if box.y == other.y:
        return (box.x + box.width if other.x > box.x else box.x), y
    towards = min(max(other.middle[0], box.x + 12), box.x + box.width - 12)
    return towards, (box.y + box.height if other.y > box.y else box.y)
