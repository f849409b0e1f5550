"""Who rang is written down, leads on in one tap, and is open until somebody settles it."""

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from machines.calls.models import Call
from machines.calls.services import note_call, settle_call
from machines.today import contractor as asked_by_contractor
from machines.today.open_work import lines_of, open_rows
from shop.web.errors import Refused
from tests import factories

from .test_today import crash


@pytest.fixture
def call(shop, firm, machine, contractor):
    return note_call(
        shop=shop,
        firm=firm,
        machine=machine,
        who="The foreman",
        says="It howls since noon",
        promised="ring back by four",
        made_by=contractor,
    )


def kinds(user):
    return [kind.key for kind, _line in lines_of(user, list(open_rows(user)))]


def test_a_call_is_open_until_somebody_says_what_became_of_it(call, contractor):
    assert kinds(contractor) == ["calls"]
    settle_call(call, by=contractor, how="Belt tension, told them how")
    assert kinds(contractor) == []


def test_it_is_settled_once_and_with_a_word(call, contractor):
    with pytest.raises(Refused, match="what became"):
        settle_call(call, by=contractor, how=" ")
    settle_call(call, by=contractor, how="done")
    with pytest.raises(Refused, match="already"):
        settle_call(call, by=contractor, how="again")


def test_the_database_holds_that_a_settled_call_says_by_whom_and_how(call):
    with pytest.raises(IntegrityError), transaction.atomic():
        Call.objects.update(settled_how="somehow")


def test_a_machine_of_another_shop_is_refused(shop, firm, contractor):
    other = factories.MachineFactory(shop=factories.ShopFactory())
    with pytest.raises(Refused, match="stands at"):
        note_call(shop=shop, firm=firm, machine=other, who="A", says="a noise", made_by=contractor)


def test_an_operator_s_crash_is_a_call_by_itself(machine, operator, contractor):
    crash(machine, operator)
    assert kinds(contractor) == ["crashes"]


def test_it_stands_on_the_first_page_and_the_number_dials(call, shop, contractor):
    """RFC 3966, 5.1.4: a global number begins with its plus and has no blanks."""
    Call.objects.update(phone="+44 20 7946 0000")
    (line,) = asked_by_contractor.calls(contractor).lines
    assert line.phone == ("+44 20 7946 0000", "tel:+442079460000")
    assert "The foreman: It howls since noon" in line.why
    assert "promised: ring back by four" in line.why


def test_another_firm_the_owner_and_strangers_see_nothing_of_it(call, shop, owner, stranger):
    rival = factories.MembershipFactory(
        shop=shop, role="contractor", firm=factories.FirmFactory()
    ).user
    for person in (owner, stranger, rival):
        assert not Call.objects.visible_to(person).exists()


class TestPages:
    def test_it_is_noted_in_one_form(self, client, shop, machine, contractor):
        client.force_login(contractor)
        given = {"shop": shop.pk, "machine": machine.pk, "who": "Ned", "says": "A noise"}
        answer = client.post(reverse("machines:new_call"), given)
        made = Call.objects.get()
        assert answer.url == made.get_absolute_url()
        assert (made.shop, made.machine, made.made_by) == (shop, machine, contractor)

    def test_what_was_typed_stays_when_something_lacks(self, client, shop, contractor):
        client.force_login(contractor)
        page = client.post(reverse("machines:new_call"), {"shop": shop.pk, "says": "A noise"})
        assert "A noise" in page.content.decode()
        assert not Call.objects.exists()

    def test_crash_log_and_visit_begin_with_what_was_said(self, client, call, contractor):
        client.force_login(contractor)
        ways = dict(client.get(call.get_absolute_url()).context["ways"])
        crash_log = client.get(ways["Log the crash"]).context["form"]
        assert crash_log["note"].value() == "The foreman: It howls since noon"
        visit = client.get(ways["Open a visit"]).context["form"]
        assert visit["purpose"].value() == "The foreman: It howls since noon"

    def test_without_a_machine_a_visit_to_the_shop_is_planned(self, client, shop, firm, contractor):
        made = note_call(shop=shop, firm=firm, who="Ned", says="A noise", made_by=contractor)
        client.force_login(contractor)
        ways = dict(client.get(made.get_absolute_url()).context["ways"])
        form = client.get(ways["Plan a visit"]).context["form"]
        assert form["purpose"].value() == "Ned: A noise"

    def test_settled_it_says_so_and_asks_no_more(self, client, call, contractor):
        client.force_login(contractor)
        client.post(call.get_absolute_url(), {"how": "Told them how"})
        page = client.get(call.get_absolute_url()).content.decode()
        assert "Told them how" in page
        assert "Settle the call" not in page
