"""A correction speaks of the time, and counts for the visit, of what it corrects.

On 3 March a thing is looked at, on 10 March again, and on 12 March what was said on the 3rd is
corrected. What holds now is what was found on the 10th, on every page and paper.
"""

import pytest
from django.urls import reverse

from alignment.adjusting.positions import last_checks
from alignment.drift import drift_of_item
from alignment.drift.rules import station_that_keeps_drifting
from alignment.sweeps.chain_view import chains_at
from alignment.sweeps.comparison import last_left
from alignment.sweeps.series import by_visit, checks_of, figures_by_item
from alignment.sweeps.services import save_check
from machines.drive import bearing_looks
from machines.drive.advice import advise
from machines.drive.belt_looks import last_looks, look_before
from machines.drive.inspecting import inspect_belt
from machines.drive.models import Bearing, Belt
from machines.drive.services import inspect_bearing
from tests import factories
from tests.factories import at


@pytest.fixture
def item(machine):
    return factories.item_of(machine, "guide bushing")


@pytest.fixture
def checks(shop, firm, contractor, item):
    """(the corrected correction of 3 March, the check of 10 March)."""
    visits = [
        factories.VisitFactory(shop=shop, firm=firm, contractor=contractor, arrived_at=at(day))
        for day in (3, 10)
    ]

    def check(visit, right_um, day, corrects=None):
        return save_check(
            visit=visit, item=item, phase="as found", sweep=factories.typed_sweep(right_um),
            made_by=contractor, made_at=at(day), corrects=corrects,
        )  # fmt: skip

    first = check(visits[0], 30, 3)
    second = check(visits[1], 2, 10)
    correction = check(visits[1], 31, 12, corrects=first)
    return check(visits[1], 32, 13, corrects=correction), second


def test_where_the_station_stands_is_what_was_measured_last(machine, item, checks):
    _corrected, second = checks
    assert last_checks(machine)[item.station_id] == second


def test_the_chain_shows_what_was_measured_last(machine, item, checks):
    states = [one for station in chains_at([machine])[machine.pk] for one in station.items]
    assert [one.newest for one in states if one.item == item] == [checks[1]]


def test_a_later_visit_is_read_against_what_was_measured_last(shop, firm, contractor, item, checks):
    later = factories.VisitFactory(shop=shop, firm=firm, contractor=contractor)
    assert last_left(item, later) == checks[1]


def test_each_visit_of_the_series_has_its_own_figure(item, checks, shop):
    corrected, second = checks
    visits = by_visit(checks_of([item]), shop.zone)
    assert [one.as_found for one in visits] == [corrected, second]
    figures = figures_by_item([item], shop.zone)[item.pk]
    assert [float(one.as_found.value_um) for one in figures] == pytest.approx([32, 2], abs=0.1)


def test_drift_takes_them_in_the_order_they_were_measured(item, checks):
    found = [one.found.value_um for one in drift_of_item(item).series.visits]
    assert found == pytest.approx([32, 2], abs=0.1)


def test_what_was_outside_at_the_first_visit_is_not_outside_in_a_row(machine, checks):
    assert list(station_that_keeps_drifting(machine, None)) == []


@pytest.fixture
def belt(machine):
    return machine.belts.get(name="guide bushing belt")


@pytest.fixture
def looks(belt, operator):
    """(what was seen on 3 March as corrected on the 12th, the look of 10 March)."""

    def look(teeth, day, corrects=None):
        return inspect_belt(
            belt=belt, made_by=operator, teeth=teeth, made_at=at(day), corrects=corrects
        )

    first = look({3: "cracked"}, 3)
    second = look({}, 10)
    return look({4: "cracked"}, 12, corrects=first), second


def test_the_last_look_at_a_belt_is_the_one_of_the_last_day(belt, looks):
    assert [one.inspection for one in last_looks(Belt.objects.filter(pk=belt.pk))] == [looks[1]]


def test_the_look_before_is_the_corrected_one(looks):
    corrected, second = looks
    assert look_before(second) == corrected
    assert look_before(corrected) is None


def test_the_rules_go_by_the_last_look(machine, looks):
    assert advise(machine, None) == []


def test_the_page_of_the_belt_lists_the_last_look_first(client, operator, belt, looks):
    client.force_login(operator)
    page = client.get(reverse("machines:belt", args=[belt.pk]))
    assert [one.inspection for one in page.context["looks"]] == [looks[1], looks[0]]


def test_of_bearings_too_the_look_of_the_last_day_counts(machine, operator):
    bearing = factories.BearingFactory(machine=machine, fitted_on=None)
    first = inspect_bearing(bearing=bearing, made_by=operator, feel="gritty", made_at=at(3))
    second = inspect_bearing(bearing=bearing, made_by=operator, feel="smooth", made_at=at(10))
    corrected = inspect_bearing(
        bearing=bearing, made_by=operator, feel="notchy", made_at=at(12), corrects=first
    )
    (last,) = bearing_looks.last_bearing_looks(Bearing.objects.filter(pk=bearing.pk), "um")
    assert last.inspection == second
    assert bearing_looks.look_before(second) == corrected
    assert advise(machine, None) == []
