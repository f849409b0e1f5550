"""The first page answers what each of the three asks in the morning."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.cache import caches
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from machines.incidents.services import log_incident
from machines.incidents.stopping import stop_machine
from machines.today import contractor as asked_by_contractor
from machines.today import operator as asked_by_operator
from machines.today import owner as asked_by_owner
from machines.visit_work.services import add_machine_to_visit
from shop.billing.models import Charge, Quote, QuoteItem
from shop.people.models import Role
from shop.visits.come_back import settle_come_back
from shop.visits.models import Visit
from tests import factories


def crash(machine, person, *, may_run=False, hours_ago=2):
    return log_incident(
        machine=machine,
        made_by=person,
        happened_at=timezone.now() - timedelta(hours=hours_ago),
        what_hit="boring bar",
        hit_what="guide bushing",
        severity="hard",
        may_run=may_run,
    )


def signed(shop, firm, person, machine=None, *, days_ago=10, findings="", **more):
    """A visit that was signed so many days ago."""
    at = timezone.now() - timedelta(days=days_ago)
    visit = factories.VisitFactory(shop=shop, firm=firm, contractor=person, arrived_at=at, **more)
    if machine:
        factories.VisitedMachineFactory(
            visit=visit, machine=machine, incident=None, findings=findings
        )
    Visit.objects.filter(pk=visit.pk).update(state="signed", signed_at=at)
    return visit


def whats(block):
    return [line.what for line in block.lines]


class TestContractor:
    def test_a_crash_is_a_call_with_its_shop_its_phone_and_the_way_to_plan(
        self, machine, operator, contractor
    ):
        machine.shop.phone = "+1 555 0142"
        machine.shop.save()
        incident = crash(machine, operator)
        (line,) = asked_by_contractor.calls(contractor).lines
        assert (line.what, line.badge) == (f"M1 · {machine.shop}", "stopped")
        assert line.phone == ("+1 555 0142", "tel:+15550142")
        assert line.action_url.endswith(f"?incident={incident.pk}")

    def test_what_was_answered_comes_after_what_was_not_the_nearest_promise_first(
        self, shop, firm, operator, contractor
    ):
        for number, days in (("late", 9), ("soon", 3), ("never", None)):
            machine = factories.MachineFactory(shop=shop, number=number)
            crash(machine, operator)
            if days:
                on = factories.today() + timedelta(days=days)
                visit = factories.VisitFactory(
                    shop=shop, firm=firm, contractor=contractor, planned_for=on
                )
                add_machine_to_visit(visit, machine)
        found = asked_by_contractor.calls(contractor, 3)
        assert [what.split(" ")[0] for what in whats(found)] == ["never", "soon", "late"]
        assert [line.action for line in found.lines] == ["Plan a visit", *["Open visit"] * 2]

    def test_a_visit_of_another_firm_is_no_promise_of_mine(
        self, shop, machine, operator, contractor
    ):
        crash(machine, operator)
        other = factories.FirmFactory()
        theirs = factories.MembershipFactory(shop=shop, role=Role.CONTRACTOR, firm=other).user
        visit = factories.VisitFactory(shop=shop, firm=other, contractor=theirs)
        factories.VisitedMachineFactory(visit=visit, machine=machine, incident=None)
        (line,) = asked_by_contractor.calls(contractor).lines
        assert line.action == "Plan a visit"

    def test_where_i_am_expected_today_comes_with_its_address(self, shop, visit, contractor):
        Visit.objects.filter(pk=visit.pk).update(planned_for=shop.today)
        block = asked_by_contractor.expected(contractor)
        (line,) = block.lines
        assert block.title == "Expected today"
        assert line.why == ", ".join(shop.address.split("\n"))

    def test_without_one_today_the_next_visit_is_told(self, shop, visit, contractor):
        Visit.objects.filter(pk=visit.pk).update(planned_for=shop.today + timedelta(days=4))
        assert asked_by_contractor.expected(contractor).title == "Next visit"

    def test_what_was_left_undone_stays_until_somebody_calls_it_done(
        self, shop, firm, machine, contractor
    ):
        visit = signed(shop, firm, contractor, machine, come_back_for="back tools again")
        signed(shop, firm, contractor, machine, days_ago=1)
        assert whats(asked_by_contractor.promised(contractor)) == ["back tools again"]
        settle_come_back(visit, "done", made_by=contractor)
        assert whats(asked_by_contractor.promised(contractor)) == []

    def test_what_is_signed_and_not_billed_comes_to_what_its_lines_come_to(
        self, shop, firm, contractor, tax
    ):
        visit = signed(shop, firm, contractor)
        Charge.objects.create(
            visit=visit, text="call-out", price=Decimal(412), tax=tax, made_by=contractor
        )
        block = asked_by_contractor.to_bill(contractor)
        assert (block.count, "412.00" in block.sum) == (1, True)

    def test_nothing_of_it_is_for_others(self, client, owner, machine, operator):
        crash(machine, operator)
        client.force_login(owner)
        page = client.get(reverse("shop:home")).content.decode()
        assert "Come back for" not in page
        assert client.get(reverse("machines:open"), {"of": "calls"}).status_code == 404


class TestOwner:
    def test_what_stands_says_since_when_why_and_that_nobody_comes(self, machine, operator, owner):
        crash(machine, operator)
        (line,) = asked_by_owner.stands(owner).lines
        assert (line.badge, line.action) == ("stopped", "Ask for a visit")
        assert "Boring bar hit guide bushing" in line.why
        assert "nobody is coming yet" in line.why

    def test_a_machine_stopped_without_a_word_is_told_too(self, machine, owner):
        stop_machine(machine, by=owner)
        (line,) = asked_by_owner.stands(owner).lines
        assert "Why was not said" in line.why

    def test_asking_for_a_visit_opens_with_machine_reason_and_three_open_days(
        self, client, machine, operator, owner, contractor
    ):
        crash(machine, operator)
        (line,) = asked_by_owner.stands(owner).lines
        client.force_login(owner)
        form = client.get(line.action_url).context["form"]
        assert form["purpose"].value() == "Machine M1 stopped: boring bar hit guide bushing"
        days = [form[f"day_{number}"].value() for number in (1, 2, 3)]
        assert days == sorted(set(days))
        assert all(str(day.isoweekday()) not in machine.shop.closed_weekdays for day in days)
        assert days[0] > machine.shop.today

    def test_a_quote_waits_with_its_price(self, shop, firm, owner):
        factories.QuoteFactory(shop=shop, firm=firm, currency="EUR", gross=Decimal("1273.00"))
        quote = Quote.objects.get()
        QuoteItem.objects.create(quote=quote, position=1, source="x", what="belt", net=1)
        (line,) = asked_by_owner.waiting(owner).lines
        assert f"{quote.number}: €1,273.00" in line.what


class TestOperator:
    def test_each_machine_says_whether_it_may_run_and_what_was_found_last(
        self, client, shop, firm, machine, operator, contractor
    ):
        signed(shop, firm, contractor, machine, findings="Housing was off.")
        (line,) = asked_by_operator.may_it_run(operator).lines
        assert "Housing was off." in line.why
        client.force_login(operator)
        page = client.get(reverse("shop:home")).content.decode()
        assert "may run" in page
        assert reverse("alignment:log_incident", args=[machine.pk]) in page


class TestQueries:
    @pytest.mark.parametrize("who", ["owner", "operator", "contractor"])
    def test_they_stay_the_same_with_more_machines_and_crashes(
        self, client, request, shop, firm, operator, owner, contractor, who
    ):
        person = request.getfixturevalue(who)
        client.force_login(person)
        counts = []
        for number in range(1, 8):
            machine = factories.MachineFactory(shop=shop, number=f"Q{number}")
            crash(machine, operator, may_run=bool(number % 2))
            signed(shop, firm, contractor, machine, come_back_for="more")
            if number in (3, 7):
                # What is due and likely out is brought up to date once; the page is made anew.
                client.get(reverse("shop:home"))
                caches["standing"].clear()
                with CaptureQueriesContext(
                    connection,
                ) as queries:
                    assert client.get(reverse("shop:home")).status_code == 200
                counts.append(len(queries))
        assert counts[0] == counts[1] < 40, counts


def test_a_morning_of_25_shops_shows_no_more_than_three_of_anything(firm, contractor):
    for number in range(25):
        shop = factories.ShopFactory(name=f"Works {number}")
        factories.MembershipFactory(user=contractor, shop=shop, role="contractor", firm=firm)
        crash(factories.MachineFactory(shop=shop), contractor)
        factories.VisitFactory(shop=shop, firm=firm, contractor=contractor, planned_for=shop.today)
    calls, expected = (
        asked_by_contractor.calls(contractor),
        asked_by_contractor.expected(contractor),
    )
    assert (len(calls.lines), calls.count) == (2, 25)
    assert (len(expected.lines), expected.count) == (1, 25)


def test_all_of_a_block_stands_on_a_page_of_its_own(client, shop, operator, contractor):
    for number in range(5):
        crash(factories.MachineFactory(shop=shop, number=f"N{number}"), operator)
    client.force_login(contractor)
    page = client.get(reverse("machines:open"), {"of": "calls"}).content.decode()
    assert all(f"N{number} · " in page for number in range(5))
