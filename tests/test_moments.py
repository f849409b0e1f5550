"""The clock of the tests: where it begins, and that the database goes by it."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import connection
from django.utils import timezone

from tests.moments import BEGIN, LISTED, of_day, read


def test_every_test_begins_at_one_moment():
    assert timedelta(0) <= timezone.now() - BEGIN < timedelta(minutes=1)


def test_a_test_moves_the_clock_for_itself_alone(clock):
    clock.move_to(datetime(2040, 1, 1, tzinfo=UTC))
    assert timezone.now().year == 2040


def test_sqlite_goes_by_the_same_clock(db, clock):
    if connection.vendor != "sqlite":
        pytest.skip("PostgreSQL has its own clock")
    clock.move_to(datetime(2028, 2, 29, 23, 59, tzinfo=UTC))
    with connection.cursor() as cursor:
        cursor.execute("SELECT strftime('%Y-%m-%d %H:%M', 'now')")
        assert cursor.fetchone() == ("2028-02-29 23:59",)


def test_a_moment_is_read_in_its_zone():
    assert read("2027-01-01T10:00 Europe/Zurich") == datetime(2027, 1, 1, 9, tzinfo=UTC)
    assert read("2027-10-31T02:30+01:00") == datetime(2027, 10, 31, 1, 30, tzinfo=UTC)


def test_a_moment_without_its_zone_is_refused():
    with pytest.raises(ValueError, match="lacks its zone"):
        read("2027-01-01T10:00")


def test_all_listed_moments_and_two_years_ahead_come_in_turn():
    days = [date(2027, 3, 1) + timedelta(days=n) for n in range(len(LISTED) + 1)]
    tried = {of_day(day) for day in days}
    assert tried >= set(LISTED)
    assert any(one.startswith("2029-") for one in tried)
