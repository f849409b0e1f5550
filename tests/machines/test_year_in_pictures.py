"""A year drawn: months as bars, a machine's standstills along a strip."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from django.urls import reverse

from machines.engineering.downtime import Stretch
from machines.history.downtimes import MachineRecord
from machines.history.strips import LEAST, LENGTH, strips_of
from machines.planning.year import Month, Year
from machines.planning.year_bars import bars_of
from machines.register.models import Machine
from shop.people.models import Shop

NOW = datetime(2025, 7, 2, 12, tzinfo=UTC)  # the middle of the year, to the hour
DAY = timedelta(days=1)


def year(**of_march):
    months = [Month(date(2025, number, 1)) for number in range(1, 13)]
    for name, value in of_march.items():
        setattr(months[2], name, value)
    return Year(tuple(months), 0, 0, (), (), "USD", (), (), ())


def strip(stops=(), breaks=(), since=datetime(2024, 1, 1, tzinfo=UTC)):
    machine = Machine(number="1", shop=Shop(time_zone="UTC"))
    record = MachineRecord(machine, since, tuple(stops), tuple(breaks))
    (drawn,) = strips_of([record], date(2025, 1, 1), 12, NOW)
    return drawn


def test_the_longest_bar_is_full_and_the_others_go_by_it():
    drawn = year(spent=Decimal("200"))
    drawn.months[0].spent = Decimal("50")
    spent = bars_of(drawn)[0]
    assert [bar.share for bar in spent.bars[:4]] == [25, 0, 100, 0]
    assert spent.bars[0].label == "Jan"
    assert "200.00" in spent.bars[2].text
    assert "250.00" in spent.total


def test_a_year_without_anything_has_no_bars_to_speak_of():
    assert {bar.share for one in bars_of(year()) for bar in one.bars} == {0.0}


def test_hours_stopped_are_told_in_hours():
    stopped = bars_of(year(stopped=timedelta(hours=36)))[3]
    assert stopped.bars[2].text == "36.0 h"


def test_a_stop_lies_where_it_was_in_the_year():
    """Day 73 of 365 begins at a fifth of the strip (365 / 5 = 73)."""
    begin = datetime(2025, 1, 1, tzinfo=UTC) + 73 * DAY
    ((start, length),) = strip([Stretch(begin, begin + 73 * DAY)]).stops
    assert (start, length) == pytest.approx((LENGTH / 5, LENGTH / 5))


def test_a_short_stop_is_still_seen():
    ((_start, length),) = strip([Stretch(NOW - DAY, NOW - DAY + timedelta(minutes=5))]).stops
    assert length == LEAST


def test_a_stop_that_goes_on_ends_now():
    drawn = strip([Stretch(NOW - DAY, None)])
    ((start, length),) = drawn.stops
    assert start + length == pytest.approx(LENGTH / 2, rel=0.01)
    assert drawn.known == pytest.approx((0, LENGTH / 2), rel=0.01)


def test_what_was_before_the_year_is_not_on_it():
    before = datetime(2024, 11, 1, tzinfo=UTC)
    assert strip([Stretch(before, before + DAY)]).stops == ()


def test_months_begin_in_the_shops_own_zone():
    assert ZoneInfo("UTC") == Shop(time_zone="UTC").zone
    assert strip().months[1] == pytest.approx(LENGTH * 31 / 365)


def test_nothing_on_record_leaves_an_empty_strip():
    assert strip(since=None).known is None


@pytest.mark.parametrize("name", ["year", "shop_downtime"])
def test_the_pages_keep_their_figures_as_a_table(client, owner, machine, name):
    client.force_login(owner)
    shown = client.get(reverse(f"machines:{name}", args=[machine.shop_id]))
    assert shown.status_code == 200
    if name == "year":
        assert "These figures as a table" in shown.text
        assert shown.text.count('<figure class="bars">') == 4
