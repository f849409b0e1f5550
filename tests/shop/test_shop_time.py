"""Moments typed in a shop's time: refused in words where they cannot be meant."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from shop.web.fields import ShopTimeField


@pytest.fixture
def field():
    field = ShopTimeField()
    field.zone = ZoneInfo("America/Chicago")
    return field


@pytest.mark.parametrize(
    "typed",
    ["9999-12-31T23:59-14:00", "9999-12-31T23:59", "0001-01-01T00:00", "0001-01-01T00:00+14:00"],
)
def test_a_year_at_the_calendar_s_ends_is_refused_in_words(field, typed):
    """Where no zone can be reckoned with: datetime's own range is the years 1 to 9999."""
    with pytest.raises(ValidationError, match="cannot be meant; expected one from 1900 to 2199"):
        field.clean(typed)


def test_what_was_typed_is_the_shop_s_time(field):
    assert field.clean("2025-07-01T07:30") == datetime(2025, 7, 1, 12, 30, tzinfo=UTC)


def test_a_phone_s_clock_may_be_a_little_ahead(field):
    ahead = timezone.now() + timedelta(seconds=90)
    assert field.clean(ahead.isoformat()) <= timezone.now()
    with pytest.raises(ValidationError, match="lies in the future"):
        field.clean((timezone.now() + timedelta(minutes=5)).isoformat())


def test_an_hour_that_the_clocks_skipped_is_refused(field):
    with pytest.raises(ValidationError, match="the clocks were put forward"):
        field.clean("2025-03-09T02:30")
