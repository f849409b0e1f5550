"""A station found outside again and again has something that does not hold it."""

import pytest
from django.utils import timezone

from alignment.drift.rules import station_that_keeps_drifting
from alignment.sweeps.services import save_check
from machines.drive.models import Thresholds
from tests import factories

HOUSING = "guide bushing"
INSIDE_UM, OUTSIDE_UM = 1, 40


def found(machine, contractor, firm, *offsets_um):
    """One visit after another at which the housing was found off by so much."""
    for offset_um in offsets_um:
        visit = factories.VisitFactory(shop=machine.shop, firm=firm, contractor=contractor)
        save_check(
            visit=visit,
            item=factories.item_of(machine, HOUSING),
            phase="as found",
            sweep=factories.typed_sweep(offset_um, 0),
            made_by=contractor,
            made_at=timezone.now(),
        )
    return list(station_that_keeps_drifting(machine, None))


@pytest.fixture
def enough(shop):
    Thresholds.objects.create(shop=shop, drifts_in_a_row=3)
    return 3


def test_it_is_advised_to_look_at_what_holds_it(machine, contractor, firm, enough):
    (advice,) = found(machine, contractor, firm, *[OUTSIDE_UM] * enough)
    assert advice.subject == factories.station_of(machine, HOUSING).name
    assert "3 visits in a row" in advice.reason


def test_the_advice_names_each_check_it_rests_on(machine, contractor, firm, enough):
    (advice,) = found(machine, contractor, firm, *[OUTSIDE_UM] * enough)
    assert {record for record, _sentence in advice.evidence} == set(
        factories.item_of(machine, HOUSING).checks.all()
    )


def test_one_visit_less_than_the_shop_allows_says_nothing(machine, contractor, firm, enough):
    assert found(machine, contractor, firm, *[OUTSIDE_UM] * (enough - 1)) == []


def test_a_visit_that_found_it_within_starts_the_count_anew(machine, contractor, firm, enough):
    assert found(machine, contractor, firm, OUTSIDE_UM, OUTSIDE_UM, INSIDE_UM, OUTSIDE_UM) == []


def test_one_visit_outside_long_ago_says_nothing_today(machine, contractor, firm, enough):
    assert found(machine, contractor, firm, *[OUTSIDE_UM] * enough, INSIDE_UM) == []
