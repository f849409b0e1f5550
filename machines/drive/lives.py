"""How long belts and bearings have run, from their fittings and the machine's meter."""

from dataclasses import dataclass
from datetime import datetime, time, timedelta

from machines.engineering.bearings import LifeUsed, life_used
from machines.engineering.meters import Totals, days_utc

from .models import Fitting, Removal

# A meter first read within two days of the fitting counts from the fitting, which may be known to
# the day only.
CLOSE_ENOUGH = timedelta(days=2)


@dataclass(frozen=True)
class Life:
    """One belt or bearing in its place: from when, to when and why it came out, and its hours.

    ``hours`` is None where the meter was not read yet when it was fitted.
    """

    fitted_at: datetime | None
    removed_at: datetime | None
    why: str
    hours: float | None
    fitting: Fitting | None

    @property
    def is_over(self):
        return self.removed_at is not None

    @property
    def failed(self):
        """Whether it lived to its end, rather than coming out while still good."""
        return self.why in Removal.ENDS_A_LIFE

    @property
    def why_words(self):
        return Removal.Why(self.why).label if self.why else "in the machine"


def start_of(day, shop):
    """The first moment of a day in a shop's zone."""
    return datetime.combine(day, time(), tzinfo=shop.zone)


def hours_between(totals: Totals, start: datetime | None, end: datetime) -> float | None:
    """Spindle hours run from `start` to `end`; None where the meter's record begins later."""
    if start is None or not len(totals):
        return None
    if days_utc(start + CLOSE_ENOUGH) < totals.days[0]:
        return None
    return totals.at(end) - totals.at(start)


def lives_of(place, fittings, totals, *, now):
    """The `Life` of each unit that sat in a belt's or bearing's place, newest first.

    `fittings` are its fittings with their removals, newest first. A unit that was there before the
    record began is known by the day noted with its place.
    """
    if not fittings:
        start = start_of(place.fitted_on, place.machine.shop) if place.fitted_on else None
        return [Life(start, None, "", hours_between(totals, start, now), None)]
    return [_life(fitting, totals, now) for fitting in fittings]


def life_used_by(bearing, life) -> LifeUsed | None:
    """The `LifeUsed` of a bearing in its present `Life`; None where rating or hours are unknown."""
    if life is None or life.hours is None or bearing.rating is None:
        return None
    return life_used(life.hours, bearing.rating)


def _life(fitting, totals, now):
    removal = getattr(fitting, "removal", None)
    end = removal.removed_at if removal else now
    return Life(
        fitted_at=fitting.fitted_at,
        removed_at=removal.removed_at if removal else None,
        why=removal.why if removal else "",
        hours=hours_between(totals, fitting.fitted_at, end),
        fitting=fitting,
    )
