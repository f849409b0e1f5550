"""What is about one shop goes by the day it is there, wherever the server stands."""

import re
from datetime import UTC, date, datetime
from pathlib import Path
from types import SimpleNamespace

import pytest

from shop.billing.statement_lists import StatementTable
from shop.people.models import Firm, Shop

# Half past ten in the evening in UTC: the next morning in Auckland, still the afternoon in Chicago.
EVENING = datetime(2026, 6, 30, 22, 30, tzinfo=UTC)
# A day without a place: the server's.
SERVERS_DAY = re.compile(r"localdate\(\)|date\.today\(\)|get_default_timezone")


@pytest.fixture(autouse=True)
def evening(clock):
    clock.move_to(EVENING)


@pytest.mark.parametrize("of", [Shop, Firm])
def test_a_shop_and_a_firm_know_the_day_it_is_there(of):
    assert of(time_zone="Pacific/Auckland").today == date(2026, 7, 1)
    assert of(time_zone="America/Chicago").today == date(2026, 6, 30)


@pytest.mark.parametrize(
    ("zone", "said", "age"),
    [("Pacific/Auckland", "30 Jun 2026, overdue", 1), ("America/Chicago", "30 Jun 2026", 0)],
)
def test_a_statement_is_overdue_by_the_day_at_its_shop(zone, said, age):
    one = SimpleNamespace(shop=Shop(time_zone=zone), is_credit_note=False, outstanding=1)
    table = StatementTable([])
    assert table.render_due_on(one, date(2026, 6, 30)) == said
    assert table.value_age(one, date(2026, 6, 30)) == age
    assert ("not due yet" in table.render_age(one, date(2026, 6, 30))) is (age == 0)


def test_nothing_goes_by_the_day_of_the_server():
    files = [
        path
        for app in ("shop", "machines", "alignment")
        for path in Path(app).rglob("*.py")
        if not {"migrations", "sandbox"} & set(path.parts)
    ]
    found = [str(path) for path in files if SERVERS_DAY.search(path.read_text())]
    assert not found, f"{found} take the server's day; expected that of a shop or a firm"
