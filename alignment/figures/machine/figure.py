"""What the picture of a machine shows, as finished data, and the same in words."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

from alignment.geometry.frame import LEFT, LOOKS_AWAY, RIGHT, side_of_front
from shop.paper.drawing import listed
from shop.paper.palettes import LIGHT

KEY = (
    "Not to scale. Ring: the tolerance, as large as its length says. Dot: where the axis stands in "
    "it, drawn far too large; hollow where it no longer counts. A broken ring inside: how large a "
    "run-out is. End views look away from the headstock; front is the operator's side."
)


@dataclass(frozen=True)
class EndView:
    """Where an axis stands against its tolerance, in µm of the machine's frame.

    ``front_um``, ``up_um``: None where it was not measured that way. ``ring_um``: the radius it
    may stand within whichever way; ``front_limits_um``, ``up_limits_um``: (lower, upper) where
    each way has limits of its own, either of which may be None. ``size_um``: what was measured has
    no direction, such as a run-out, and ``ring_um`` is its limit.
    """

    front_um: float | None = None
    up_um: float | None = None
    ring_um: float | None = None
    front_limits_um: tuple[float | None, float | None] = (None, None)
    up_limits_um: tuple[float | None, float | None] = (None, None)
    size_um: float | None = None

    @property
    def reach_um(self) -> float:
        """What the ring, or the farthest limit, stands for; without any, what was measured."""
        limits = [*self.front_limits_um, *self.up_limits_um, self.ring_um]
        farthest = max((abs(um) for um in limits if um is not None), default=0.0)
        measured = (self.front_um, self.up_um, self.size_um)
        return farthest or max((abs(um) for um in measured if um is not None), default=0.0) or 1.0

    @property
    def was_measured(self) -> bool:
        return any(um is not None for um in (self.front_um, self.up_um, self.size_um))

    def place(self, hand: float) -> tuple[float, float]:
        """(right, up) of the dot as shares of the reach; hand: +1 where front is at the right."""
        return hand * (self.front_um or 0.0) / self.reach_um, (self.up_um or 0.0) / self.reach_um


@dataclass(frozen=True)
class StationMark:
    """A station in checking order.

    ``key`` names it for whoever lays links over the picture. ``state`` is one of STATE_SHAPES,
    ``words`` the same in full, ``short`` as the picture has room for; ``told`` its figure and
    limit; ``counts``: whether its figure still says where it stands. ``hit`` and ``moved``: the day
    it was, "" for not. ``axes``: the names of those that move it.
    """

    key: int
    number: int
    name: str
    kind: str
    state: str
    words: str
    short: str = ""
    told: tuple[str, ...] = ()
    view: EndView | None = None
    counts: bool = True
    hit: str = ""
    moved: str = ""
    axes: str = ""

    @property
    def sentence(self):
        """It in words, for those who do not see the picture."""
        happened = [f"axes {self.axes}"] if self.axes else []
        happened += [f"hit {self.hit}"] if self.hit else []
        happened += [f"moved {self.moved}"] if self.moved else []
        return ", ".join([f"{self.number} {self.name}: {self.words}", *self.told, *happened])


@dataclass(frozen=True)
class BeltMark:
    """A belt: what it drives, and what its teeth said when it was last looked at.

    ``bad``: how many teeth are not sound, None where nobody has looked. ``is_new``: it was fitted
    after that look.
    """

    name: str
    drives: str = ""
    bad: int | None = None
    is_new: bool = False

    @property
    def words(self):
        if self.is_new:
            return f"{self.name}: new"
        if self.bad is None:
            return f"{self.name}: not inspected"
        if not self.bad:
            return f"{self.name}: teeth sound"
        return f"{self.name}: {self.bad} bad {'tooth' if self.bad == 1 else 'teeth'}"


@dataclass(frozen=True)
class MachineFigure:
    """A machine as one stands before it. Raises ValueError for a side that is none."""

    name: str
    headstock_side: str
    stations: tuple[StationMark, ...] = ()
    belts: tuple[BeltMark, ...] = ()

    def __post_init__(self):
        if self.headstock_side not in (LEFT, RIGHT):
            raise ValueError(f"The headstock stands left or right, not {self.headstock_side!r}.")

    @property
    def has_jack_shaft(self):
        return any("jack shaft" in belt.drives for belt in self.belts)

    @property
    def hand(self) -> float:
        """+1 where front is at the right in the end views, which look away from the headstock."""
        return 1.0 if side_of_front(LOOKS_AWAY, self.headstock_side) == RIGHT else -1.0

    def drawing(self, palette=LIGHT, size="wide"):
        """The reportlab `Drawing` in one of SIZES; KeyError for another."""
        from .draw import draw

        return draw(self, size, palette)

    def layout(self, size="wide"):
        """Where everything of it stands; see `layout.Layout`."""
        return self._layouts[size]

    @cached_property
    def _layouts(self):
        from .layout import lay_out

        return {name: lay_out(self, form) for name, form in SIZES.items()}

    def describe(self):
        """The picture in words, in checking order."""
        if not self.stations:
            return "No station is on record yet."
        told = "; ".join(station.sentence for station in self.stations)
        belts = f" Belts: {listed(belt.words for belt in self.belts)}." if self.belts else ""
        side = f"The headstock stands on the {self.headstock_side}."
        return f"{self.name} in checking order: {told}.{belts} {side}"


@dataclass(frozen=True)
class Form:
    """How large a picture is drawn: lengths in the units it is shown in, pixels or points.

    ``per_row``: how many end views stand side by side, each with its text below; with one, the
    text stands beside it. ``least``: the narrowest a block gets. ``views``: whether end views
    stand below the machine.
    """

    width: float
    font: float
    per_row: int
    ring: float
    least: float
    body: float
    tool: float
    margin: float = 8.0
    gap: float = 10.0
    views: bool = True

    @property
    def line(self):
        return self.font * 1.28

    @property
    def inner(self):
        return self.width - 2 * self.margin


# Shown no narrower than some 600 and 310 pixels, where their text is 12 pixels high.
_WIDE = Form(width=640, font=13, per_row=5, ring=31, least=40, body=104, tool=50)
_NARROW = Form(width=320, font=12.5, per_row=1, ring=23, least=30, body=84, tool=44)
SIZES = {
    "wide": _WIDE,
    "narrow": _NARROW,
    "wide-plain": replace(_WIDE, views=False),
    "narrow-plain": replace(_NARROW, views=False),
}
