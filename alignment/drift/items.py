"""What is known of an item's drift, as plain records."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from alignment.geometry.drift.change import Change
from alignment.geometry.drift.posterior import Belief
from alignment.geometry.drift.prediction import Start
from machines.incidents.models import Incident

from .clock import Per
from .records import Series, SeriesVisit
from .shaping import tolerance_of


@dataclass(frozen=True)
class Rate:
    """``um`` is (front, up) or the figure alone, in µm per ``per``; the ends of the 95 % interval
    are None where the visits do not tell them. ``share``, from 0 to 1, comes from ``others``
    machines like it."""

    um: tuple[float, ...]
    low_um: tuple[float, ...] | None
    high_um: tuple[float, ...] | None
    per: Per
    share: float
    others: int


@dataclass(frozen=True)
class Move:
    """What happened between what one visit left and what the next found.

    ``um`` is None where an end is missing; the step, in µm with the ends of its 95 % interval, is
    what an incident did beyond wear, None without one or where the visits do not tell.
    """

    before: SeriesVisit
    after: SeriesVisit
    elapsed: float
    um: tuple[float, ...] | None
    step_um: tuple[float, ...] | None
    step_low_um: tuple[float, ...] | None
    step_high_um: tuple[float, ...] | None

    @property
    def knocks(self) -> tuple[Incident, ...]:
        return self.after.knocks


@dataclass(frozen=True)
class ItemDrift:
    """All that is known of the drift of one item on ``today``.

    ``chance`` of being outside its limits today, None where it cannot be told; ``risk_day``, when
    that chance passes ``risk``, with the ends of its interval (None: not within the horizon, or
    not known); ``next_check``, the day to check by. ``disturbed``: an incident was logged since,
    which no forecast covers. ``belief`` and ``start`` are for the picture of the forecast.
    """

    series: Series
    today: date
    risk: float
    moves: tuple[Move, ...]
    rate: Rate | None
    chance: float | None
    risk_day: date | None
    earliest: date | None
    latest: date | None
    next_check: date | None
    note: str
    belief: Belief
    start: Start
    change: Change | None = None
    change_since: date | None = None
    grown: bool = False
    asked_day: date | None = None

    @property
    def item(self):
        return self.series.item

    @property
    def start_dof(self):
        """Degrees of freedom of the uncertainty that the forecast starts from."""
        return float(self.start.dof[0])

    @property
    def start_share(self):
        """Of a vector, that uncertainty over the radius of its limit; 0 for a figure alone."""
        if self.series.parts == 1:
            return 0.0
        radius_um = float(tolerance_of([self.series]).radius_um[0])
        return float(self.start.cov_um2[0]) ** 0.5 / radius_um

    @property
    def disturbed(self):
        return self.series.state.is_before_a_crash

    @property
    def position_known(self):
        """Whether its newest check says where it stands."""
        return self.series.state.counts

    @property
    def is_past(self):
        """Whether the chance is past the risk already."""
        return self.chance is not None and self.chance >= self.risk
