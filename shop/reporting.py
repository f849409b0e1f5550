"""The service report: gathered from every app's sections, in the order of `REPORT_SECTIONS`."""

from collections.abc import Callable
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from .lengths import format_length
from .models import Visit
from .wording import day_text, time_text


@dataclass(frozen=True)
class Report:
    """What a section is given: the visit, and how lengths, days and times are written in it.

    A section is a function of a Report that returns a list of flowables, empty when it has
    nothing to say.
    """

    visit: Visit
    unit: str
    zone: ZoneInfo

    @property
    def length(self) -> Callable:
        """value_um -> text in the report's unit; a dash for None."""
        return lambda value: (
            "–" if value is None else format_length(value, self.unit, with_unit=True)
        )

    def when(self, moment):
        return "–" if moment is None else time_text(moment, self.zone)

    def day(self, moment):
        return "–" if moment is None else day_text(moment.astimezone(self.zone).date())
