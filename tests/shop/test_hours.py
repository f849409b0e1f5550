"""Hours of work by rate."""

from datetime import UTC, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.visits.hours import Hours, Spell, split_hours

ZURICH = ZoneInfo("Europe/Zurich")


def spell(began, ended, who="Pat", zone=ZURICH):
    return Spell(
        who,
        datetime.fromisoformat(began).replace(tzinfo=zone),
        datetime.fromisoformat(ended).replace(tzinfo=zone),
    )


def hours(normal="0", overtime="0", weekend="0"):
    return Hours(Decimal(normal), Decimal(overtime), Decimal(weekend))


# 10 March 2025 is a Monday.
@pytest.mark.parametrize(
    ("spells", "expected"),
    [
        ([], hours()),
        ([("2025-03-10T08:00", "2025-03-10T12:30")], hours("4.5")),
        ([("2025-03-10T07:00", "2025-03-10T17:20")], hours("8", "2.33")),
        ([("2025-03-15T09:00", "2025-03-15T11:00")], hours(weekend="2")),
        ([("2025-03-14T22:00", "2025-03-15T02:00")], hours("2", weekend="2")),
        ([("2025-03-16T22:00", "2025-03-17T06:00")], hours("6", weekend="2")),
        (
            [("2025-03-10T08:00", "2025-03-10T12:00"), ("2025-03-10T13:00", "2025-03-10T18:00")],
            hours("8", "1"),
        ),
        (
            [("2025-03-10T08:00", "2025-03-10T12:00"), ("2025-03-10T11:00", "2025-03-10T13:00")],
            hours("5"),
        ),
    ],
    ids=[
        "no work",
        "a morning",
        "a long day",
        "a Saturday",
        "Friday night into Saturday",
        "Sunday night into Monday",
        "a day with a break",
        "spells that overlap are counted once",
    ],
)
def test_hours_go_to_their_rate(spells, expected):
    assert split_hours([spell(*one) for one in spells], ZURICH) == expected


def test_two_people_working_side_by_side_each_have_a_day_of_their_own():
    both = [spell("2025-03-10T08:00", "2025-03-10T17:00", who) for who in ("Pat", "Kim")]
    assert split_hours(both, ZURICH) == hours("16", "2")


def test_the_weekend_begins_at_the_shop_s_midnight_not_at_another_s():
    evening = Spell(
        "Pat", datetime(2025, 3, 14, 23, tzinfo=UTC), datetime(2025, 3, 15, 1, tzinfo=UTC)
    )
    assert split_hours([evening], ZURICH) == hours(weekend="2")
    assert split_hours([evening], ZoneInfo("America/New_York")) == hours("2")


def test_the_night_the_clocks_go_back_is_an_hour_longer():
    # From Saturday 25 October 2025, 22:00 summer time, to Sunday 06:00 winter time: nine hours.
    night = [spell("2025-10-25T22:00", "2025-10-26T06:00")]
    assert split_hours(night, ZURICH) == hours(weekend="9")


def test_leaving_before_arriving_is_refused():
    with pytest.raises(ValueError, match="ends before it began"):
        split_hours([spell("2025-03-10T12:00", "2025-03-10T08:00")], ZURICH)


def test_a_day_of_thirty_hours_is_refused():
    with pytest.raises(ValueError, match="expected 0 to 24"):
        split_hours([], ZURICH, day_h=Decimal(30))


minutes = st.integers(0, 14 * 24 * 60)


@settings(max_examples=50, deadline=None)
@given(ends=st.lists(st.tuples(minutes, st.integers(0, 20 * 60)), max_size=6))
def test_the_rates_share_out_the_time_worked_and_nothing_else(ends):
    """Each spell is another person's, so that nothing overlaps."""
    start = datetime(2025, 3, 10, tzinfo=UTC).timestamp()
    spells = [
        Spell(
            who,
            datetime.fromtimestamp(start + 60 * begin, UTC),
            datetime.fromtimestamp(start + 60 * (begin + length), UTC),
        )
        for who, (begin, length) in enumerate(ends)
    ]
    split = split_hours(spells, ZURICH)
    worked = Decimal(sum(length for _, length in ends)) / 60
    assert abs(split.normal + split.overtime + split.weekend - worked) <= Decimal("0.015")
