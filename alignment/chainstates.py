"""How an acceptance item and a station of the datum chain stand."""

from dataclasses import dataclass

from .models import AcceptanceItem, Adjustment, Check, Station


@dataclass(frozen=True)
class ItemState:
    """An acceptance item with its checks at one visit.

    as_found, as_left: the last check of each phase, None where there is none; at a correction
    those of the visit it corrects stand in where nothing was corrected.
    before: the last check of an earlier visit. stale: something that bears on the item was moved
    after it was last measured. at_visit: False for the machine as it stands today, where the
    check of an earlier visit counts. to_correct: at a correction, the checks that stand in.
    """

    item: AcceptanceItem
    as_found: Check | None
    as_left: Check | None
    before: Check | None
    stale: bool
    at_visit: bool = True
    to_correct: tuple[Check, ...] = ()

    @property
    def left_alone(self):
        """Measured as found and nothing moved since: that stands as the as left figure too."""
        return self.as_found is not None and self.as_left is None and not self.stale

    @property
    def newest(self):
        """The last check, stale or not."""
        return self.as_left or self.as_found or self.before

    @property
    def final(self):
        """The check that says how the item was left, None while that is not known."""
        if self.stale:
            return None
        return (self.as_left or self.as_found) if self.at_visit else self.newest


@dataclass(frozen=True)
class StationState:
    """A station in checking order.

    stale_because: the adjusted stations it waits for to be measured again. moved_here: itself and
    the stations it is measured from, as far as they were adjusted at this visit.
    """

    station: Station
    items: tuple[ItemState, ...]
    stale_because: tuple[Station, ...]
    adjustments: tuple[Adjustment, ...] = ()
    moved_here: tuple[Station, ...] = ()

    @property
    def is_stale(self):
        return bool(self.stale_because)

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
        if self.is_stale:
            return "stale"
        return "measured" if self.measured else "not measured"
