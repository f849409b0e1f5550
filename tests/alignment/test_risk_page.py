"""The machines by the chance that one of their items is out today, and plans by that risk."""

import csv
import io
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from alignment.drift.risk import risk_dates
from machines.drive.models import Thresholds
from machines.planning.plans import make_plan
from machines.register.models import Machine
from tests import factories
from tests.alignment.drifting import day, knock, seen, steady
from tests.pages import tight

RISK = "alignment:risk"


@pytest.fixture
def fleet(shop, contractor):
    """Four machines: drifting fast, drifting slowly, knocked yesterday, seen once."""
    bores = {}
    for number in ("fast", "slow", "knocked", "once"):
        machine = factories.five_station_machine(shop, number=number, model_name=number)
        bores[number] = factories.item_of(machine, "guide bushing")
    steady(bores["fast"], rate_um=6.0, last=900)
    steady(bores["slow"], rate_um=3.0, last=100)
    steady(bores["knocked"], rate_um=0.5, last=100)
    knock(bores["knocked"].station.machine, 1)
    seen(bores["once"], 900, (1, 0))
    return bores


@pytest.fixture
def rows(client, owner, fleet):
    client.force_login(owner)
    return lambda: [row.record for row in client.get(reverse(RISK)).context["table"].rows]


def test_the_most_pressing_machine_stands_first(rows):
    assert [row.machine.number for row in rows()] == ["knocked", "fast", "slow", "once"]


def test_each_machine_names_the_item_that_drives_it(rows, fleet):
    driven = {row.machine.number: row.item_id for row in rows()}
    assert driven["fast"] == fleet["fast"].pk
    assert driven["once"] is None


def test_a_machine_not_checked_for_long_has_its_risk_from_the_forecast(rows):
    by_number = {row.machine.number: row for row in rows()}
    assert by_number["fast"].chance > 0.3
    assert by_number["slow"].chance < 0.05


def test_what_was_knocked_or_is_past_the_risk_is_to_be_checked_now(rows, shop):
    today = timezone.localdate(timezone=shop.zone)
    assert [row.next_check for row in rows()][:2] == [today, today]


def test_the_page_says_how_many_are_to_be_checked(client, owner, fleet):
    client.force_login(owner)
    response = client.get(reverse(RISK))
    assert tight("2 of 4 machines to be checked now, 1 without a forecast") in tight(response.text)


def test_the_list_can_be_taken_out_as_csv(client, owner, fleet):
    client.force_login(owner)
    response = client.get(reverse(RISK), {"_export": "csv"})
    told = list(csv.DictReader(io.StringIO(response.text)))
    assert [row["Machine"].split()[0] for row in told] == ["knocked", "fast", "slow", "once"]
    assert 0 <= float(told[1]["Chance out of tolerance"]) <= 1


@pytest.mark.parametrize("column", ["machine", "chance", "-next_check", "last_measured"])
def test_the_list_is_sorted_as_asked(client, owner, fleet, column):
    client.force_login(owner)
    assert client.get(reverse(RISK), {"sort": column}).status_code == 200


def test_a_stranger_sees_nothing_of_it(client, stranger, fleet):
    client.force_login(stranger)
    response = client.get(reverse(RISK))
    assert len(response.context["table"].rows) == 0
    assert "No machine is on record" in response.text


def test_a_machine_out_of_service_is_not_ranked(rows):
    Machine.objects.filter(number="fast").update(out_of_service_on=factories.today())
    assert "fast" not in {row.machine.number for row in rows()}


def test_thirty_machines_take_as_many_queries_as_three(
    client, owner, shop, fleet, django_assert_max_num_queries
):
    client.force_login(owner)
    client.get(reverse(RISK))
    with django_assert_max_num_queries(9) as asked:
        client.get(reverse(RISK))
        few = len(asked)
    for number in range(26):
        factories.five_station_machine(shop, number=f"N{number}")
    client.get(reverse(RISK))
    with django_assert_max_num_queries(few):
        response = client.get(reverse(RISK))
    assert len(response.context["table"].paginated_rows) == 25


def test_what_is_measured_anew_counts_at_once(rows, fleet):
    assert rows()[1].machine.number == "fast"
    seen(fleet["fast"], 1, (0, 0))
    by_number = {row.machine.number: row for row in rows()}
    assert by_number["fast"].chance < 0.1


def test_two_who_see_different_shops_have_a_ranking_each(client, rows, owner, fleet):
    other = factories.five_station_machine(number="elsewhere")
    both = factories.MembershipFactory(user=factories.UserFactory(), shop=other.shop).user
    factories.MembershipFactory(user=both, shop=fleet["fast"].station.machine.shop)
    assert len(rows()) == 4
    client.force_login(both)
    assert len(client.get(reverse(RISK)).context["table"].rows) == 5
    client.force_login(owner)
    assert len(rows()) == 4


def test_a_machine_that_moved_to_another_shop_is_ranked_there(client, rows, fleet):
    machine = fleet["slow"].station.machine
    there = factories.ShopFactory()
    both = factories.MembershipFactory(user=factories.UserFactory(), shop=there).user
    factories.MembershipFactory(user=both, shop=machine.shop)
    client.force_login(both)
    assert len(client.get(reverse(RISK)).context["table"].rows) == 4
    Machine.objects.filter(pk=machine.pk).update(shop=there)
    found = client.get(reverse(RISK)).context["table"].rows
    assert {row.record.shop for row in found if row.record.machine == machine} == {there}


class TestHome:
    def test_the_first_page_names_the_machines_to_check(self, client, owner, fleet):
        client.force_login(owner)
        text = client.get(reverse("shop:home")).text
        assert reverse(RISK) in text
        assert "before the crash of" in text

    def test_an_operator_is_not_bothered_with_it(self, client, operator, fleet):
        client.force_login(operator)
        assert "Risk of drift" not in client.get(reverse("shop:home")).text

    def test_before_anything_was_measured_it_says_what_to_do(self, client, owner, machine):
        client.force_login(owner)
        assert "takes two visits" in client.get(reverse("shop:home")).text


class TestPlansByRisk:
    """A plan by the risk of drift falls due by the forecast, on the page where all is due."""

    def _due(self, client, owner, machine, percent):
        make_plan(
            shop=machine.shop, machine=machine, made_by=owner, what="check the chain",
            kind="alignment check", at_risk_percent=percent, starts_on=day(3000).date(),
        )  # fmt: skip
        client.force_login(owner)
        return client.get(reverse("machines:due"))

    def test_it_is_due_on_the_day_the_risk_is_reached(self, client, owner, fleet):
        machine = fleet["slow"].station.machine
        on = risk_dates([machine], 0.2)[machine.pk]
        ((_bucket, (item,)),) = self._due(client, owner, machine, 20).context["buckets"]
        assert item.due.on == on > factories.today()
        assert "20 %" in item.due.reason

    def test_past_the_risk_it_is_overdue(self, client, owner, fleet):
        response = self._due(client, owner, fleet["fast"].station.machine, 5)
        assert [bucket for bucket, _items in response.context["buckets"]] == ["overdue"]

    def test_a_knock_makes_it_due_from_its_day_on(self, fleet):
        machine = fleet["knocked"].station.machine
        assert risk_dates([machine], 0.05)[machine.pk] == factories.today() - timedelta(days=1)

    def test_with_nothing_to_forecast_from_it_waits(self, client, owner, fleet):
        response = self._due(client, owner, fleet["once"].station.machine, 5)
        assert response.context["buckets"] == []

    def test_a_higher_risk_is_reached_later(self, fleet):
        machine = fleet["slow"].station.machine
        days = [risk_dates([machine], risk)[machine.pk] for risk in (0.02, 0.05, 0.2, 0.6, 0.9)]
        assert days == sorted(days)
        assert len(set(days)) == 5

    def test_whatever_the_shop_has_chosen_the_plan_goes_by_its_own_risk(self, fleet):
        machine = fleet["slow"].station.machine
        before = risk_dates([machine], 0.2)
        Thresholds.objects.create(shop=machine.shop, drift_risk_percent=40)
        assert risk_dates([machine], 0.2) == before
