"""Where everything of a machine's picture stands: pure arithmetic, no pen.

Lengths are the drawing's units, x to the right and y **down** from the upper left corner, as a
page counts them. Along Z the places are those of the trade (common practice, no source): headstock,
guide bushing, then the room where tools work, with the tool carriers above the axis and back tools
below it, and the sub-spindle opposite. A headstock at the operator's right turns all that round.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from alignment.geometry.frame import RIGHT
from shop.paper.drawing import wrapped

from .figure import Form, MachineFigure, StationMark

HEAD, GUIDE, SUB = "headstock", "guide bushing", "sub-spindle"
WORK, BELOW = "where tools work", "below the axis"
# How the length of a machine is shared out among what stands along it.
SHARES = {HEAD: 26, GUIDE: 13, WORK: 29, SUB: 24}
TOOLS = ("gang tools", "turret")
TIPS = 18
PAD = 4
MARK = 14
COVER = 54
BED = 7
BROAD = 132


@dataclass(frozen=True)
class Rect:
    """A rectangle by its upper left corner."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self):
        return self.x + self.width

    @property
    def bottom(self):
        return self.y + self.height

    @property
    def middle(self):
        return self.x + self.width / 2, self.y + self.height / 2


@dataclass(frozen=True)
class Block:
    """A station's body on the machine; ``lines``: as much of its name as fits."""

    station: StationMark
    rect: Rect
    lines: tuple[str, ...]


@dataclass(frozen=True)
class Cell:
    """A station's end view with its text: the ring's centre and where the text begins."""

    station: StationMark
    rect: Rect
    centre: tuple[float, float]
    text: tuple[float, float]
    heading: tuple[str, ...]
    lines: tuple[str, ...]


@dataclass(frozen=True)
class Layout:
    """A whole picture. ``columns``: place along Z to its rectangle; ``axis``: the y of the spindle
    axis; ``bed``: that of the bed's top; ``cover``: what the belts stand behind, None without
    belts; ``notes``: lines on them."""

    width: float
    height: float
    axis: float
    bed: float
    columns: dict[str, Rect]
    blocks: tuple[Block, ...]
    cells: tuple[Cell, ...]
    cover: Rect | None
    notes: tuple[tuple[float, float, str], ...]

    @property
    def places(self):
        """(station, its rectangles) in checking order, for links and labels laid over it."""
        of = {block.station.key: [block.rect] for block in self.blocks}
        for cell in self.cells:
            of[cell.station.key].append(cell.rect)
        return [(block.station, tuple(of[block.station.key])) for block in self.blocks]


def lay_out(figure: MachineFigure, form: Form) -> Layout:
    """The `Layout` of a figure at one size."""
    groups = _grouped(figure.stations)
    columns = _columns(groups, form)
    above = _tool_rows(groups[WORK], columns[WORK], form)
    tall = max([form.body, *(_stack(groups[c], columns[c], form) for c in (HEAD, GUIDE, SUB))])
    head = form.line + PAD
    axis = head + max(tall / 2 + 10, above * form.tool + TIPS + 14)
    rects = _on_axis(groups, columns, axis, tall, form)
    rects |= _above(groups[WORK], columns[WORK], axis, form)
    rects |= _below(groups[BELOW], columns, axis, form)
    told = form.line * any(one.hit or one.moved for one in groups[BELOW])
    bed = 4 + max([axis + tall / 2 + 9, *(rects[one.key].bottom + told for one in groups[BELOW])])
    if figure.headstock_side == RIGHT:
        rects = {key: _turned(rect, form) for key, rect in rects.items()}
        columns = {name: _turned(rect, form) for name, rect in columns.items()}
    cover, notes, bottom = _belts(figure.belts, columns, bed + BED + PAD, form)
    cells, height = _cells(figure.stations, bottom + form.gap, form)
    blocks = [
        Block(one, rects[one.key], _name(one, rects[one.key], form)) for one in figure.stations
    ]
    return Layout(
        form.width,
        ceil(height),
        axis,
        bed,
        columns,
        tuple(blocks),
        tuple(cells),
        cover,
        tuple(notes),
    )


def _grouped(stations):
    groups = {HEAD: [], GUIDE: [], SUB: [], WORK: [], BELOW: []}
    for one in stations:
        groups[_where(one.kind)].append(one)
    return groups


def _where(kind):
    if kind in TOOLS:
        return WORK
    return kind if kind in (HEAD, GUIDE, SUB) else BELOW


def _columns(groups, form):
    """The columns there are, side by side from the headstock on; heights are not used."""
    there = {HEAD, WORK} | {name for name in (GUIDE, SUB) if groups[name]}
    shares = {name: share for name, share in SHARES.items() if name in there}
    room = form.inner - form.gap * (len(shares) - 1)
    columns, x = {}, form.margin
    for name, share in shares.items():
        width = room * share / sum(shares.values())
        columns[name] = Rect(x, 0, width, 0)
        x += width + form.gap
    return {**dict.fromkeys(SHARES, Rect(x - form.gap, 0, 0, 0)), **columns}


def _per_row(column_width, form):
    return max(1, int((column_width + PAD) // (form.least + PAD)))


def _stack(stations, column, form):
    """How tall a column of spindles gets: one has the body's height, more share the room."""
    if len(stations) < 2:
        return form.body
    return ceil(len(stations) / _per_row(column.width / 2, form)) * (form.tool + form.line)


def _tool_rows(stations, column, form):
    return ceil(len(stations) / _per_row(column.width, form))


def _on_axis(groups, columns, axis, tall, form):
    """Spindles centred on the axis; the guide bushing's casting stands taller than they do."""
    found = {}
    for name, extra in ((HEAD, 0), (GUIDE, 18), (SUB, -6)):
        stations, column = groups[name], columns[name]
        height = tall if len(stations) > 1 else form.body + extra
        per_row = _per_row(column.width / 2, form) if len(stations) > 1 else 1
        box = Rect(column.x, axis - height / 2, column.width, height)
        found |= _grid(stations, box, per_row)
    return found


def _grid(stations, box, per_row):
    """Station key to its share of a box, row by row."""
    rows = ceil(len(stations) / per_row) if stations else 1
    width = (box.width - PAD * (per_row - 1)) / per_row
    height = (box.height - PAD * (rows - 1)) / rows
    return {
        one.key: Rect(
            box.x + n % per_row * (width + PAD),
            box.y + n // per_row * (height + PAD),
            width,
            height,
        )
        for n, one in enumerate(stations)
    }


def _above(stations, column, axis, form):
    rows = _tool_rows(stations, column, form)
    per_row = min(len(stations), _per_row(column.width, form)) or 1
    height = rows * form.tool - PAD
    return _grid(stations, Rect(column.x, axis - TIPS - 14 - height, column.width, height), per_row)


def _below(stations, columns, axis, form):
    """Back tools, and what is of no known kind, below the axis before the sub-spindle."""
    column = columns[WORK]
    room = column.width - (TIPS if columns[SUB].width else 0)
    per_row = min(len(stations), _per_row(room, form)) or 1
    rows = ceil(len(stations) / per_row)
    width = min(room, per_row * BROAD)
    box = Rect(column.x + room - width, axis + 14, width, rows * form.tool - PAD)
    return _grid(stations, box, per_row)


def _belts(belts, columns, top, form):
    """The cover below headstock and guide bushing, a line on each belt, and where they end."""
    if not belts:
        return None, [], top
    ends = [columns[HEAD], columns[GUIDE] if columns[GUIDE].width else columns[HEAD]]
    left, right = min(one.x for one in ends), max(one.right for one in ends)
    cover = Rect(left, top, right - left, COVER)
    x, y, room = form.margin, cover.bottom + form.line, form.inner
    if form.per_row > 1:
        y, room = top + form.line, form.inner - cover.width - form.gap
        x = cover.right + form.gap if left < form.width / 4 else form.margin
    said = [one.words for one in belts if one.bad]
    if form.views:
        sound = ", ".join(one.words for one in belts if not one.bad)
        said = ["Behind the cover: jack shaft and belts", *said, sound]
    lines = [
        line for text in filter(None, said) for line in wrapped(text, room - MARK - PAD, form.font)
    ]
    notes = [(x, y + n * form.line, line) for n, line in enumerate(lines)]
    return cover, notes, max([cover.bottom, *(low + 4 for _x, low, _text in notes)])


def _cells(stations, top, form):
    """The end views in rows, and where the last ends."""
    cells, y = [], top
    if not form.views:
        return cells, y
    for first in range(0, len(stations), form.per_row):
        row = stations[first : first + form.per_row]
        made = [_cell(one, n, y, len(stations), form) for n, one in enumerate(row)]
        deepest = max(cell.rect.height for cell in made)
        cells += made
        y += deepest + form.gap - 2
    return cells, y


def _cell(station, column, y, count, form):
    if form.per_row == 1:
        return _beside(station, y, form)
    width = form.inner / min(form.per_row, count)
    x = form.margin + column * width
    heading, lines = _texts(station, width - 3 * PAD, form)
    text_top = y + 2 * form.ring + 2 * form.line
    height = text_top - y - form.line + 4 + (len(heading) + len(lines)) * form.line
    centre = (x + width / 2 - PAD / 2, y + form.ring + 6)
    return Cell(station, Rect(x, y, width - PAD, height), centre, (x + 2, text_top), heading, lines)


def _beside(station, y, form):
    """One end view with its text at its right."""
    left = 2 * form.ring + 30
    heading, lines = _texts(station, form.inner - left, form)
    text = (len(heading) + len(lines)) * form.line
    height = max(2 * form.ring + form.line + 6, text + PAD)
    centre = (form.margin + form.ring + 8, y + form.ring + 4)
    return Cell(
        station,
        Rect(form.margin, y, form.inner, height),
        centre,
        (form.margin + left, y + form.line),
        heading,
        lines,
    )


def _texts(station, room, form):
    """The name beside its mark, and the lines below."""
    heading = wrapped(f"{station.number} {station.name}", room - MARK - 6, form.font, bold=True)
    said = [station.short or station.words, *station.told]
    if form.per_row == 1:
        said = [said[0], "; ".join(said[1:])] if station.told else said
    return tuple(heading), tuple(line for text in said for line in wrapped(text, room, form.font))


def _name(station, rect, form):
    """The name in the lines it takes, none where it does not fit into its block."""
    lines = wrapped(station.name, rect.width - 2 * PAD, form.font)
    fits = (len(lines) + 1) * form.line + 2 * PAD <= rect.height
    return tuple(lines) if fits and not any("…" in line for line in lines) else ()


def _turned(rect, form):
    return Rect(form.width - rect.right, rect.y, rect.width, rect.height)
