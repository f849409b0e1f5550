"""Days and times of visits ahead, and when two of them clash; free of Django."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time


@dataclass(frozen=True)
class Slot:
    """A day, and from when until when in the shop's time; without times it takes the whole day.

    ValueError for one time without the other, and for an end before the start.
    """

    day: date
    start: time | None = None
    end: time | None = None

    def __post_init__(self):
        if (self.start is None) != (self.end is None):
            raise ValueError("Give both times, from and until, or neither for the whole day.")
        if self.start is not None and self.end <= self.start:
            raise ValueError("The visit cannot end before it starts.")

    @property
    def whole_day(self) -> bool:
        return self.start is None

    def moments(self, zone) -> tuple[datetime, datetime]:
        """Start and end as moments; a whole day from its midnight to the last second."""
        start, end = self.start or time.min, self.end or time(23, 59, 59)
        return (
            datetime.combine(self.day, start, tzinfo=zone),
            datetime.combine(self.day, end, tzinfo=zone),
        )

    @property
    def in_words(self) -> str:
        """'5 Mar 2026' or '5 Mar 2026, 08:00 to 12:00'."""
        day = f"{self.day.day} {self.day:%b %Y}"
        return day if self.whole_day else f"{day}, {self.start:%H:%M} to {self.end:%H:%M}"


def overlap(one: tuple[datetime, datetime], other: tuple[datetime, datetime]) -> bool:
    """Whether two spans share more than an end: (start, end) each, moments with a zone."""
    return one[0] < other[1] and other[0] < one[1]
