"""The moment at which the tests take place: today, or one that is asked for.

`SWEEPBOOK_TEST_NOW` names it, with its zone: `2027-01-01T10:00 Europe/Zurich`, or the offset from
UTC where an hour comes twice, `2027-10-31T02:30+01:00`. `python -m tests.moments` prints the one of
`LISTED` that CI tries today; each day it is the next.
"""

import os
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import time_machine
from dateutil.relativedelta import relativedelta

# Midnight falls on a quarter of an hour in every zone, so a test has one to itself.
A_QUARTER = timedelta(minutes=15)

# The tests' shops keep the time of Zurich, the server keeps UTC.
LISTED = [
    "2027-01-01T10:00 Europe/Zurich",
    "2027-02-28T10:00 Europe/Zurich",
    "2028-02-29T10:00 Europe/Zurich",
    "2027-12-31T10:00 Europe/Zurich",
    # Clocks are put forward, and back: the hour that comes twice, the first and the second time.
    "2027-03-28T03:10 Europe/Zurich",
    "2027-10-31T02:30+02:00",
    "2027-10-31T02:30+01:00",
    # Another day at the shop than at the server, and the ends of months and of the year.
    "2027-08-31T23:50 Europe/Zurich",
    "2027-09-01T00:10 Europe/Zurich",
    "2026-12-31T23:50 UTC",
    "2027-01-01T00:10 UTC",
    # Each day of the week.
    "2027-05-03T10:00 Europe/Zurich",
    "2027-05-04T10:00 Europe/Zurich",
    "2027-05-05T10:00 Europe/Zurich",
    "2027-05-06T10:00 Europe/Zurich",
    "2027-05-07T10:00 Europe/Zurich",
    "2027-05-08T10:00 Europe/Zurich",
    "2027-05-09T10:00 Europe/Zurich",
]


def real_now():
    """What time it really is, wherever the tests are."""
    hatch = time_machine.escape_hatch
    return hatch.datetime.datetime.now(UTC) if hatch.is_travelling() else datetime.now(UTC)


def read(text):
    """The moment that a text names; ValueError where its zone is missing."""
    local, _, zone = text.partition(" ")
    moment = datetime.fromisoformat(local)
    if zone:
        moment = moment.replace(tzinfo=ZoneInfo(zone))
    if moment.tzinfo is None:
        raise ValueError(f"{text!r} lacks its zone; expected such as {LISTED[0]!r}.")
    return moment.astimezone(UTC)


def _begin():
    if asked := os.environ.get("SWEEPBOOK_TEST_NOW"):
        return read(asked)
    now = real_now()
    return now - (now - datetime.min.replace(tzinfo=UTC)) % A_QUARTER


# When every test begins: the moment asked for, or the quarter of an hour that has begun.
BEGIN = _begin()


def of_day(day):
    """The moment that is tried on a day: those listed, then two years ahead of it, in turn."""
    listed = [*LISTED, f"{day + relativedelta(years=2)}T10:00 Europe/Zurich"]
    return listed[day.timetuple().tm_yday % len(listed)]


if __name__ == "__main__":
    print(of_day(real_now().date()))
