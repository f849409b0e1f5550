"""Calendar steps held against printed examples and the rules of the calendar."""

from datetime import date

import pytest

from machines.engineering.due import Interval, next_by_date

# The examples section of the python-dateutil documentation, relativedelta.
DATEUTIL = [
    (date(2003, 1, 27), Interval(months=1), date(2003, 2, 27)),
    (date(2003, 1, 31), Interval(months=1), date(2003, 2, 28)),
    (date(2003, 1, 31), Interval(months=2), date(2003, 3, 31)),
    (date(2000, 2, 28), Interval(years=1), date(2001, 2, 28)),
    (date(2000, 2, 29), Interval(years=1), date(2001, 2, 28)),
    (date(1999, 2, 28), Interval(years=1), date(2000, 2, 28)),
    (date(1999, 3, 1), Interval(years=1), date(2000, 3, 1)),
]


@pytest.mark.parametrize(("done", "interval", "following"), DATEUTIL)
def test_calendar_steps_agree_with_printed_examples(done, interval, following):
    assert next_by_date(interval, done) == following


# Gregorian rule: years divisible by 4 are leap years, full centuries only if divisible by 400.
@pytest.mark.parametrize(("year", "day"), [(2024, 29), (2025, 28), (2000, 29), (2100, 28)])
def test_a_month_after_the_31st_of_january_is_the_last_of_february(year, day):
    assert next_by_date(Interval(months=1), date(year, 1, 31)) == date(year, 2, day)
