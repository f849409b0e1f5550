"""The list of drift and the pages of a machine say one chance, whatever changed at whose shop."""

import math

import pytest
from django.db import transaction
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from alignment.drift import drift_of
from alignment.drift.models import MachineRisk
from alignment.drift.standing import standing_drift
from machines.register.models import Machine
from tests import factories
from tests.alignment.drifting import knock, seen, steady

pytestmark = pytest.mark.django_db
MODEL = "20-5"


def visit(machine, shops):
    seen(factories.item_of(machine, "guide bushing"), 3, (9, 0), (1, 0))


def crash(machine, shops):
    knock(machine, 2)


def another_model(machine, shops):
    _save(machine, model_name="" if machine.model_name else MODEL)


def hand_over(machine, shops):
    _save(machine, shop=next(shop for shop in shops if shop != machine.shop))


def out_of_service(machine, shops):
    _save(machine, out_of_service_on=None if machine.out_of_service_on else factories.today())


def _save(machine, **changed):
    for name, value in changed.items():
        setattr(machine, name, value)
    machine.save()


CHANGES = [visit, crash, another_model, hand_over, out_of_service]


@pytest.fixture
def shops(machine, contractor, owner):
    """Two shops of one owner with machines of one model, visited for years at one of them."""
    work = factories.MembershipFactory(
        user=factories.UserFactory(), role="contractor", firm=factories.FirmFactory()
    )
    factories.MembershipFactory(user=owner, shop=work.shop, role="owner")
    for number, (shop, rate_um) in enumerate([(machine.shop, 1.0), (work.shop, 9.0)]):
        other = factories.five_station_machine(shop, number=f"L{number}", model_name=MODEL)
        steady(factories.item_of(other, "guide bushing"), rate_um=rate_um, years=2 + number)
    _save(machine, model_name=MODEL)
    seen(factories.item_of(machine, "guide bushing"), 400, (1, 0))
    return [machine.shop, work.shop]


@pytest.fixture
def listed(client, owner):
    """{machine: its chance on the list}, as the list is opened."""
    client.force_login(owner)

    def open_list():
        client.get(reverse("alignment:risk"))
        return dict(MachineRisk.objects.values_list("machine", "chance"))

    return open_list


def on_its_page(machine, owner):
    known = [one.chance for one in drift_of(machine, owner) if one.chance is not None]
    return 1 - math.prod(1 - one for one in known) if known else None


@settings(
    max_examples=6, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(changes=st.lists(st.tuples(st.sampled_from(CHANGES), st.integers(0, 2)), max_size=4))
def test_every_change_is_in_the_list_as_on_the_page(shops, owner, listed, changes):
    with transaction.atomic():
        for change, number in changes:
            machines = list(Machine.objects.order_by("pk").select_related("shop"))
            change(machines[number], shops)
            chances = listed()
            for one in Machine.objects.filter(out_of_service_on=None).select_related("shop"):
                assert_same(chances[one.pk], on_its_page(one, owner))
        transaction.set_rollback(True)


def assert_same(listed, told):
    if told is None:
        assert listed is None
    else:
        assert listed == pytest.approx(told, rel=1e-6)


def test_a_lender_that_comes_and_goes_elsewhere_moves_the_borrower_s_chance(
    shops, machine, owner, listed
):
    lender = Machine.objects.get(number="L1")
    with_it = listed()[machine.pk]
    another_model(lender, shops)
    without = listed()[machine.pk]
    assert without != pytest.approx(with_it, rel=0.01)
    another_model(lender, shops)
    assert listed()[machine.pk] == pytest.approx(with_it)


def test_the_page_of_an_item_says_what_the_list_says(shops, machine, owner, listed):
    listed()
    visit(Machine.objects.get(number="L1"), shops)
    item = factories.item_of(machine, "guide bushing")
    known = [one for one in drift_of(machine, owner) if one.chance is not None]
    assert [one.item for one in known] == [item]
    assert listed()[machine.pk] == pytest.approx(standing_drift(item, owner).chance)


def test_a_machine_of_another_model_stays_as_it_was_worked_out(shops, machine, owner, listed):
    other = factories.five_station_machine(machine.shop, number="Z", model_name="32-8")
    listed()
    MachineRisk.objects.filter(machine=other).update(chance=0.125)
    crash(Machine.objects.get(number="L1"), shops)
    assert listed()[other.pk] == 0.125


def test_broken_off_it_is_done_again(shops, machine, owner, listed, monkeypatch):
    before = listed()[machine.pk]
    another_model(Machine.objects.get(number="L1"), shops)
    with monkeypatch.context() as patch:
        patch.setattr("shop.snapshots.lists._work_out", _break_off)
        with pytest.raises(KeyboardInterrupt):
            listed()
    assert listed()[machine.pk] != pytest.approx(before, rel=0.01)


def _break_off(*_args):
    raise KeyboardInterrupt
