"""Which machines lend what is known of their drift, and how many."""

import pytest

from alignment.drift import drift_of, drift_of_item, drifts, lenders, words
from alignment.geometry.drift.leave_one_out import FEWEST_OTHERS
from tests import factories
from tests.alignment.drifting import day, seen, steady

MODEL = "20-5"


@pytest.fixture(autouse=True)
def _works_there(contractor):
    """The firm's contractor, in whose name `seen` measures."""


@pytest.fixture
def bore(machine):
    machine.model_name = MODEL
    machine.save()
    return factories.item_of(machine, "guide bushing")


@pytest.fixture
def most(monkeypatch):
    monkeypatch.setattr(lenders, "MOST_LENDERS", 3)
    return 3


def another(shop, number, rate_um=2.0, **history):
    """A machine of the model with years of visits."""
    other = factories.five_station_machine(shop, number=number, model_name=MODEL)
    steady(factories.item_of(other, "guide bushing"), rate_um=rate_um, **history)
    return other


def elsewhere(person):
    """Another shop where somebody works, too."""
    work = factories.MembershipFactory(
        user=factories.UserFactory(), role="contractor", firm=factories.FirmFactory()
    )
    factories.MembershipFactory(user=person, shop=work.shop, role="owner")
    return work.shop


def rate_right(item, person=None):
    return drift_of_item(item, person).rate.um[0]


def test_no_more_lend_than_add_to_what_is_known(machine, bore, most):
    for number in range(most + 2):
        another(machine.shop, f"L{number}", years=2)
    seen(bore, 100, (1, 0))
    found = drift_of_item(bore)
    assert found.rate.others == most
    assert f"The rate is borrowed from {most} other machines like it" in found.note


def test_the_shop_s_own_lend_before_those_of_another_that_were_visited_more(
    machine, bore, owner, most
):
    for number in range(most):
        another(machine.shop, f"L{number}", rate_um=2.0, years=2)
    abroad = elsewhere(owner)
    for number in range(most):
        another(abroad, f"X{number}", rate_um=8.0, years=4)
    seen(bore, 100, (1, 0))
    assert rate_right(bore, owner) == pytest.approx(2, abs=0.5)


def test_where_the_shop_has_too_few_others_come_in(machine, bore, owner, most):
    another(machine.shop, "L0", rate_um=2.0, years=2)
    abroad = elsewhere(owner)
    for number in range(most):
        another(abroad, f"X{number}", rate_um=8.0, years=2)
    seen(bore, 100, (1, 0))
    assert drift_of_item(bore, owner).rate.others == most
    assert rate_right(bore, owner) > 4


def test_those_visited_most_lend_first(machine, bore, most):
    for number in range(most):
        another(machine.shop, f"A{number}", rate_um=8.0, years=2)
    for number in range(most):
        another(machine.shop, f"B{number}", rate_um=2.0, years=3)
    seen(bore, 100, (1, 0))
    assert rate_right(bore) == pytest.approx(2, abs=0.5)


def test_a_machine_seen_once_takes_no_lender_s_place(machine, bore, most):
    for number in range(most):
        new = factories.five_station_machine(machine.shop, number=f"A{number}", model_name=MODEL)
        seen(factories.item_of(new, "guide bushing"), 50, (1, 0))
    for number in range(FEWEST_OTHERS):
        another(machine.shop, f"B{number}", years=2)
    seen(bore, 100, (1, 0))
    assert drift_of_item(bore).rate.others == FEWEST_OTHERS


def test_visits_that_came_later_make_nobody_a_better_lender(machine, bore, most):
    for number in range(most):
        another(machine.shop, f"A{number}", rate_um=2.0, years=3, last=400)
        another(machine.shop, f"B{number}", rate_um=8.0, years=4, last=10)
    seen(bore, 500, (1, 0))
    (then,) = (one for one in drift_of(machine, until=day(390)) if one.item == bore)
    assert then.rate.um[0] == pytest.approx(2, abs=0.5)


def test_a_machine_is_told_the_same_alone_and_among_others(machine, bore, most):
    others = [another(machine.shop, f"L{number}", years=3) for number in range(most + 1)]
    steady(bore, rate_um=3.0, years=3)
    alone = drifts([machine], changes=True)[machine.pk]
    among = drifts([machine, *others], changes=True)[machine.pk]
    for one, other in zip(alone, among, strict=True):
        assert one.note == other.note
        assert words.change_words(one, "um") == words.change_words(other, "um")
        assert one.chance == pytest.approx(other.chance, nan_ok=True)
        assert one.next_check == other.next_check


def test_an_item_alone_is_told_as_among_the_machine_s(machine, bore):
    for number in range(3):
        another(machine.shop, f"L{number}", years=2)
    steady(bore, years=3)
    alone = drift_of_item(bore)
    (among,) = (one for one in drifts([machine])[machine.pk] if one.item == bore)
    assert alone.note == among.note
    assert alone.chance == pytest.approx(among.chance)
