"""How an acceptance item and a station of the datum chain stand."""

from dataclasses import dataclass

from alignment.geometry.adjust.state import BEFORE_A_CRASH, NOT_MEASURED, STALE
from alignment.sheets.models import AcceptanceItem
from machines.register.models import Station

from .models import Adjustment, Check
from .states import UNMEASURED, ShownState

# Of several lines measured at a station, the state that asks most comes first.
ASKS_MOST_FIRST = (
    Check.Verdict.OUTSIDE,
    BEFORE_A_CRASH,
    STALE,
    Check.Verdict.NOT_PROVEN,
    NOT_MEASURED,
    Check.Verdict.WITHIN,
    Check.Verdict.NO_LIMIT,
)


@dataclass(frozen=True)
class ItemState:
    """An acceptance item with its checks at one visit.

    as_found, as_left: the last check of each phase, None where there is none; at a correction
    those of the visit it corrects stand in where nothing was corrected.
    before: the last check of an earlier visit. state: what the last of these checks is worth.
    at_visit: False for the machine as it stands today, where the check of an earlier visit
    counts. to_correct: at a correction, the checks that stand in. ends: the stations that it is
    measured between, what it is measured from first; moved_here: those of them that were adjusted
    at the visit.
    """

    item: AcceptanceItem
    as_found: Check | None
    as_left: Check | None
    before: Check | None
    state: ShownState
    at_visit: bool = True
    to_correct: tuple[Check, ...] = ()
    ends: tuple[Station, ...] = ()
    moved_here: tuple[Station, ...] = ()

    @property
    def left_alone(self):
        """Measured as found and nothing moved since: that stands as the as left figure too."""
        return self.as_found is not None and self.as_left is None and self.state.counts

    @property
    def newest(self):
        """The last check, whether it still counts or not."""
        return self.as_left or self.as_found or self.before

    @property
    def final(self):
        """The check that says how the item was left, None while that is not known."""
        if not self.state.counts:
            return None
        return (self.as_left or self.as_found) if self.at_visit else self.newest


@dataclass(frozen=True)
class StationState:
    """A station in checking order.

    moved_here: itself and its datum, as far as they were adjusted at this visit.
    """

    station: Station
    items: tuple[ItemState, ...]
    adjustments: tuple[Adjustment, ...] = ()
    moved_here: tuple[Station, ...] = ()

    @property
    def again(self):
        """The state that asks most of those of its items, None where all count or are missing: a
        crash goes before an adjustment."""
        waiting = [one.state for one in self.items if one.state.is_before_a_crash]
        waiting += [one.state for one in self.items if one.state.is_stale]
        return waiting[0] if waiting else None

    @property
    def is_stale(self):
        return self.again is not None and self.again.is_stale

    @property
    def words(self):
        """How it stands, in full."""
        return self.again.words if self.again else self.word

    @property
    def foremost(self):
        """The `ItemState` that asks most: what is outside, then what a crash or a move put in
        doubt, then what is not proven or not measured; None without any."""
        return min(self.items, key=lambda one: ASKS_MOST_FIRST.index(one.state.word), default=None)

    @property
    def shown(self):
        """The `ShownState` of that; None for the master datum, which needs none."""
        if self.foremost is not None:
            return self.foremost.state
        return None if self.is_datum_of_all else UNMEASURED

    @property
    def is_datum_of_all(self):
        return self.station.datum_id is None

    @property
    def measured(self):
        return bool(self.items) and all(state.final for state in self.items)

    @property
    def word(self):
        if self.is_datum_of_all and not self.items:
            return "datum"
        if self.again:
            return self.again.word
        return "measured" if self.measured else "not measured"

    @property
    def is_outside(self):
        """Whether something that counts was found outside its limits."""
        return any(
            one.final is not None and one.final.verdict == Check.Verdict.OUTSIDE
            for one in self.items
        )

    @property
    def is_settled(self):
        """Whether all that is measured there counts, or nothing is."""
        return self.measured or self.word == "datum"
