"""All that is promised and not finished stands on one list, the oldest first."""

import csv
import io
from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from machines.drive.models import Recommendation
from machines.drive.recommending import take_step
from machines.today.open_work import KEYS, all_open, lines_of, open_rows
from shop.billing.models import Charge, QuoteItem
from shop.billing.services import issue_statement, record_payment
from shop.calendar.services import propose
from shop.calendar.times import Slot
from shop.web.errors import Refused
from tests import factories

from .test_today import signed


def told(user, **narrowed):
    """[(key of the kind, what the line says)] of all that is open."""
    rows = list(open_rows(user, **narrowed))
    return [(kind.key, line.what) for kind, line in lines_of(user, rows)]


def kinds(user, **narrowed):
    return [kind for kind, _what in told(user, **narrowed)]


def advice(machine, contractor, *states, what="guide bushing belt"):
    made = Recommendation.objects.create(
        machine=machine,
        subject=what,
        what=what,
        urgency="watch",
        reason="worn",
        made_by=contractor,
    )
    for state in states:
        take_step(made, state, made_by=contractor)
    return made


def ask_for_a_visit(shop, firm, owner):
    ahead = (shop.today + timedelta(days=days) for days in range(1, 8))
    day = next(one for one in ahead if str(one.isoweekday()) not in shop.closed_weekdays)
    return propose(shop=shop, firm=firm, purpose="a noise", slots=[Slot(day)], made_by=owner)


def quote(shop, firm, *, ends_in):
    made = factories.QuoteFactory(
        shop=shop, firm=firm, valid_until=shop.today + timedelta(days=ends_in)
    )
    QuoteItem.objects.create(quote=made, position=1, source="x", what="belt", net=1)
    return made


@pytest.mark.parametrize(
    ("steps", "kind"),
    [
        (["approved"], "to-order"),
        (["approved", "ordered"], "on-order"),
        (["approved", "ordered", "arrived"], "to-fit"),
    ],
)
def test_advice_stands_where_its_last_step_left_it(machine, contractor, steps, kind):
    advice(machine, contractor, *steps)
    assert told(contractor) == [(kind, "1 × guide bushing belt")]


@pytest.mark.parametrize("steps", [[], ["declined"], ["approved", "ordered", "arrived", "done"]])
def test_what_nobody_agreed_to_or_is_settled_is_not_open(machine, contractor, steps):
    made = advice(machine, contractor)
    for state in steps:
        take_step(made, state, made_by=contractor, note="why")
    assert kinds(contractor) == []


def test_what_was_not_ordered_cannot_arrive(machine, contractor):
    with pytest.raises(Refused, match="mark it ordered first"):
        advice(machine, contractor, "approved", "arrived")


def test_days_proposed_and_not_answered_are_open(shop, firm, owner, contractor):
    ask_for_a_visit(shop, firm, owner)
    assert kinds(contractor) == ["proposals"]


def test_a_signed_visit_is_open_until_it_is_billed_and_then_until_it_is_paid(
    shop, firm, contractor, tax, clock
):
    visit = signed(shop, firm, contractor)
    Charge.objects.create(
        visit=visit, text="call-out", price=Decimal(412), tax=tax, made_by=contractor
    )
    assert kinds(contractor) == ["to-bill"]
    statement = issue_statement(visit, made_by=contractor)
    assert kinds(contractor) == []
    clock.shift(timedelta(days=(statement.due_on - shop.today).days))
    assert kinds(contractor) == ["owed"]
    record_payment(
        statement, made_by=contractor, amount=statement.gross, paid_on=statement.issued_on
    )
    assert kinds(contractor) == []


@pytest.mark.parametrize(("days", "is_told"), [(30, False), (7, True), (-2, True), (-30, False)])
def test_a_quote_is_told_near_its_end(shop, firm, contractor, days, is_told):
    quote(shop, firm, ends_in=days)
    assert kinds(contractor) == ["lapsing"] * is_told


def test_they_stand_by_age_whatever_their_kind(shop, firm, machine, contractor, clock):
    advice(machine, contractor, "approved")
    clock.shift(timedelta(days=2))
    signed(shop, firm, contractor, machine, days_ago=9, come_back_for="the collet")
    signed(shop, firm, contractor, machine, days_ago=1, come_back_for="the shims")
    assert [what for _kind, what in told(contractor)] == [
        "the collet",
        "1 × guide bushing belt",
        "the shims",
    ]


def test_it_can_be_narrowed_to_a_shop_and_to_a_kind(shop, firm, machine, contractor):
    other = factories.ShopFactory()
    factories.MembershipFactory(user=contractor, shop=other, role="contractor", firm=firm)
    signed(other, firm, contractor, come_back_for="theirs")
    advice(machine, contractor, "approved")
    assert kinds(contractor, shop=other) == ["promised"]
    assert kinds(contractor, shop=shop) == ["to-order"]
    assert kinds(contractor, kind="to-order") == ["to-order"]


def test_nothing_of_another_firm_or_shop_is_among_it(shop, machine, firm, contractor):
    elsewhere = factories.MembershipFactory(
        shop=factories.ShopFactory(), role="contractor", firm=factories.FirmFactory()
    ).user
    rival = factories.MembershipFactory(
        shop=shop, role="contractor", firm=factories.FirmFactory()
    ).user
    signed(shop, firm, contractor, machine, come_back_for="the collet")
    quote(shop, firm, ends_in=3)
    assert sorted(kinds(contractor)) == ["lapsing", "promised"]
    assert kinds(elsewhere) == kinds(rival) == []


def test_each_line_has_its_shop_its_age_and_one_action(shop, firm, machine, contractor, owner):
    signed(shop, firm, contractor, machine, come_back_for="the collet")
    advice(machine, contractor, "approved", "ordered")
    quote(shop, firm, ends_in=3)
    ask_for_a_visit(shop, firm, owner)
    lines = [line for _kind, line in lines_of(contractor, list(open_rows(contractor)))]
    assert len(lines) == 4
    for line in lines:
        assert str(shop) in f"{line.what} {line.where}"
        assert line.since
        assert line.action
        assert line.action_url
    assert sum("M1" in f"{line.where} {line.why}" for line in lines) == 2


class TestPage:
    def page(self, client, contractor, **given):
        client.force_login(contractor)
        return client.get(reverse("machines:open_work"), given)

    def test_it_costs_as_much_for_many_as_for_few(self, client, shop, firm, contractor):
        client.force_login(contractor)
        counts = []
        for number in range(1, 9):
            machine = factories.MachineFactory(shop=shop, number=f"Q{number}")
            signed(shop, firm, contractor, machine, come_back_for="more")
            for states in (["approved"], ["approved", "ordered"]):
                advice(machine, contractor, *states, what=f"{number} {states[-1]}")
            quote(shop, firm, ends_in=1)
            if number in (2, 8):
                with CaptureQueriesContext(connection) as queries:
                    assert self.page(client, contractor).status_code == 200
                counts.append(len(queries))
        assert counts[0] == counts[1] < 30, counts

    def test_it_pages(self, client, shop, firm, contractor, machine):
        for number in range(53):
            advice(machine, contractor, "approved", what=f"belt {number}")
        assert len(self.page(client, contractor).context["found"]["lines"]) == 50
        second = self.page(client, contractor, page=2)
        assert len(second.context["found"]["lines"]) == 3

    @pytest.mark.parametrize(
        "given", [{"kind": "x"}, {"shop": "x"}, {"shop": 10**30}, {"page": -1}]
    )
    def test_what_no_filter_means_shows_all(self, client, contractor, machine, given):
        advice(machine, contractor, "approved")
        assert "guide bushing belt" in self.page(client, contractor, **given).content.decode()

    def test_it_goes_out_as_csv(self, client, contractor, machine):
        advice(machine, contractor, "approved", what="=belt")
        answer = self.page(client, contractor, _export="csv")
        head, row = csv.reader(io.StringIO(answer.content.decode()))
        assert head[0].lower() == "kind"
        assert row[0] == "Approved, not ordered"

    def test_its_top_and_its_count_stand_on_the_first_page(
        self, client, shop, firm, contractor, machine
    ):
        for number in range(5):
            advice(machine, contractor, "approved", what=f"belt {number}")
        block = all_open(contractor)
        assert (len(block.lines), block.count) == (3, 5)
        client.force_login(contractor)
        page = client.get(reverse("shop:home")).content.decode()
        assert reverse("machines:open_work") in page


def test_every_kind_has_a_key_of_its_own():
    assert len(set(KEYS)) == len(KEYS) == 10
