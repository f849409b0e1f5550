"""All the times a plan falls due over a while, if each is done on the day it is due."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time, tzinfo

from .due import Due, Interval, WorkRecord, due

# Work is taken to be done in the middle of its day, so that no change of the clock moves it to
# another.
_MIDDAY = time(12)

# More than this in one look ahead is a plan of every day for over a year.
_MOST = 400


def dues_until(
    interval: Interval, record: WorkRecord, now: datetime, zone: tzinfo, last: date
) -> list[Due]:
    """The ``Due`` of each time up to the day ``last``, in order.

    What is overdue counts as done today. Times without a date end the list. An incident calls for
    a check once, and so does the risk of drift: how often either comes again is not known.
    ValueError as for ``due``.
    """
    found: list[Due] = []
    today = now.astimezone(zone).date()
    while len(found) < _MOST:
        item = due(interval, record, now, zone)
        if item is None or item.on is None or item.on > last:
            break
        found.append(item)
        done = max(item.on, today)
        record = replace(
            record,
            since=max(datetime.combine(done, _MIDDAY, tzinfo=zone), record.since),
            never_done=False,
            closed_due=item.on,
            incidents=(),
            risk_on=None,
        )
    return found
