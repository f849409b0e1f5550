"""A machine's datum chain as a plain schematic: who is measured from whom, and where it stands."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from shop.paper.drawing import SMALL, TEXT, Pen, position_mark, verdict_mark
from shop.paper.fonts import text_width
from shop.paper.palettes import LIGHT

WIDTH = 360
MARGIN = 10
BOX_HEIGHT = 50
GAP = 16
LANE = 13
NUMBER_RADIUS = 10
STATE_MARK = 10
STATES = ("measured", "stale", "not measured")


@dataclass(frozen=True)
class ChainStation:
    """One station in checking order. ``datum`` is the name of the station it is measured from
    (None: the master datum); ``state`` one of STATES; ``note`` a short line such as the last
    figure."""

    name: str
    datum: str | None = None
    state: str = "not measured"
    note: str = ""
    verdict: str = ""


@dataclass(frozen=True)
class ChainFigure:
    """The stations in the order they are checked.

    Raises ValueError where two have one name, a state is not known, or a datum is not among them.
    """

    stations: tuple[ChainStation, ...]
    machine: str = ""

    def __post_init__(self):
        names = [station.name for station in self.stations]
        if len(set(names)) < len(names):
            raise ValueError("Two stations of a chain have the same name.")
        for station in self.stations:
            self._check(station, names)

    @staticmethod
    def _check(station, names):
        name, datum = station.name, station.datum
        if station.state not in STATES:
            expected = ", ".join(STATES)
            raise ValueError(f"'{name}' is '{station.state}', expected one of: {expected}.")
        if datum is not None and datum not in names:
            raise ValueError(f"'{name}' has '{datum}' as its datum, which is not in the chain.")

    @cached_property
    def links(self):
        """(index of the datum, index of the station, lane) of each station that has a datum.

        Links that run side by side lie in different lanes; the shortest are nearest the boxes.
        """
        place = {station.name: n for n, station in enumerate(self.stations)}
        pairs = [(place[s.datum], place[s.name]) for s in self.stations if s.datum is not None]
        taken: list[list[tuple[int, int]]] = []
        links = []
        for start, end in sorted(pairs, key=lambda pair: (abs(pair[1] - pair[0]), pair)):
            span = (min(start, end), max(start, end))
            lane = next((n for n, lane in enumerate(taken) if _is_free(lane, span)), len(taken))
            if lane == len(taken):
                taken.append([])
            taken[lane].append(span)
            links.append((start, end, lane))
        return links

    @property
    def lanes(self):
        return 1 + max((lane for *_, lane in self.links), default=-1)

    def drawing(self, palette=LIGHT):
        count = max(len(self.stations), 1)
        height = count * BOX_HEIGHT + (count - 1) * GAP + 2 * MARGIN
        pen = Pen(WIDTH, height, palette)
        left = MARGIN + self.lanes * LANE + 6
        for index, station in enumerate(self.stations):
            _Box(pen, left, self._middle(pen, index), station).draw(index + 1)
        for start, end, lane in self.links:
            self._link(pen, left, lane, self._middle(pen, start), self._middle(pen, end))
        if not self.stations:
            pen.text(MARGIN, height / 2, "No stations yet.")
        return pen.drawing

    @staticmethod
    def _middle(pen, index):
        return pen.height - MARGIN - BOX_HEIGHT / 2 - index * (BOX_HEIGHT + GAP)

    @staticmethod
    def _link(pen, left, lane, start, end):
        """From the datum's box out to its lane, along it, and with an arrow into the station."""
        x = left - LANE * (lane + 1)
        leave, arrive = start - BOX_HEIGHT / 5, end + BOX_HEIGHT / 5
        ink = pen.palette.ink
        pen.polyline([(left, leave), (x, leave), (x, arrive)], stroke=ink, width=1.2)
        pen.arrow(x, arrive, left, arrive, width=1.2)

    def describe(self):
        """The chain in words, in checking order."""
        if not self.stations:
            return "The chain has no stations yet."
        told = "; ".join(self._told(n, s) for n, s in enumerate(self.stations, start=1))
        of = f" of {self.machine}" if self.machine else ""
        return f"Datum chain{of} in checking order: {told}."

    @staticmethod
    def _told(number, station):
        origin = "the master datum" if station.datum is None else f"measured from {station.datum}"
        extra = "".join(f", {word}" for word in (station.verdict, station.note) if word)
        return f"{number} {station.name}, {origin}, {station.state}{extra}"


def _is_free(lane, span):
    return all(span[0] >= end or span[1] <= start for start, end in lane)


class _Box:
    """One station: number, name, note, state and verdict."""

    def __init__(self, pen, left, middle, station):
        self.pen, self.left, self.middle, self.station = pen, left, middle, station
        self.right = WIDTH - MARGIN
        self.text_left = left + 2 * NUMBER_RADIUS + 16

    def draw(self, number):
        self._frame()
        x = self.left + NUMBER_RADIUS + 8
        self.pen.circle(x, self.middle, NUMBER_RADIUS, fill=self.pen.palette.paper)
        self.pen.text(x, self.middle - 4, f"{number}", TEXT, anchor="middle", bold=True)
        self._first_line(self.middle + 7)
        self._second_line(self.middle - 13)

    def _frame(self):
        """Solid where measured; broken where the figure no longer counts or never was."""
        dash = {"measured": None, "stale": (6, 3), "not measured": (1.5, 3)}[self.station.state]
        low = self.middle - BOX_HEIGHT / 2
        fill = self.pen.palette.faint if self.station.state == "measured" else None
        width = self.right - self.left
        self.pen.rect(self.left, low, width, BOX_HEIGHT, fill=fill, line=1.4, dash=dash, radius=4)

    def _first_line(self, y):
        """The name, with the state at the right."""
        state = self.station.state
        x = self.right - 8 - text_width(state, SMALL, bold=True)
        self.pen.text(x, y, state, SMALL, bold=True)
        self._state_mark(x - 11, y + 3.6)
        room = x - 22 - self.text_left
        self.pen.fitted(self.text_left, y, self.station.name, room, bold=True)

    def _state_mark(self, x, y):
        """A filled dot, a half-filled ring, an empty ring."""
        accent, radius = self.pen.palette.accent, STATE_MARK / 2
        position_mark(self.pen, x, y, self.station.state == "measured", radius)
        if self.station.state == "stale":
            half = [(x + radius * c, y + radius * s) for c, s in HALF_CIRCLE]
            self.pen.polygon(half, fill=accent, stroke=None)

    def _second_line(self, y):
        """The verdict and the note."""
        x = self.text_left
        if self.station.verdict:
            verdict_mark(self.pen, self.station.verdict, x + 5, y + 3.6, STATE_MARK)
            self.pen.text(x + 15, y, self.station.verdict, SMALL, bold=True)
            x += 15 + text_width(self.station.verdict, SMALL, bold=True) + 8
        room = self.right - 8 - x
        self.pen.fitted(x, y, self.station.note, room, size=SMALL, colour=self.pen.palette.muted)


HALF_CIRCLE = (
    (0, -1),
    (-0.38, -0.92),
    (-0.71, -0.71),
    (-0.92, -0.38),
    (-1, 0),
    (-0.92, 0.38),
    (-0.71, 0.71),
    (-0.38, 0.92),
    (0, 1),
)
