"""Who is mailed when a machine stops, and whom somebody at the machine can call."""

import pytest

from machines.incidents.stopping import stop_machine
from machines.register.contacts import contacts_of
from machines.visit_work.services import add_machine_to_visit
from tests import factories
from tests.factories import MembershipFactory, VisitFactory
from tests.post import posted


@pytest.fixture
def mailed(machine, operator, django_capture_on_commit_callbacks):
    """Stops the machine; the addresses that were mailed, each by a mail of its own."""

    def stop():
        with django_capture_on_commit_callbacks(execute=True):
            stop_machine(machine, by=operator)
        assert all(len(letter.to) == 1 for letter in posted())
        return sorted(letter.to[0] for letter in posted())

    return stop


def with_mail(person):
    person.email = f"{person.username}@x.example"
    person.save()
    return person.email


@pytest.fixture
def rival(shop):
    """A contractor of another firm that serves the same shop."""
    return MembershipFactory(shop=shop, role="contractor", user__username="rival").user


def test_owner_and_contractor_are_told_of_a_machine_that_stopped(owner, contractor, mailed):
    both = sorted([with_mail(owner), with_mail(contractor)])
    assert mailed() == both


def test_of_two_firms_the_one_that_was_at_the_machine_last_is_told(
    machine, shop, firm, contractor, rival, mailed
):
    with_mail(rival)
    address = with_mail(contractor)
    add_machine_to_visit(VisitFactory(shop=shop, firm=firm, contractor=contractor), machine)
    assert mailed() == [address]


def test_where_nobody_was_at_the_machine_yet_every_firm_is_told(contractor, rival, mailed):
    both = sorted([with_mail(contractor), with_mail(rival)])
    assert mailed() == both


def test_a_firm_that_serves_the_shop_no_more_is_not_told(
    machine, shop, firm, contractor, rival, mailed
):
    with_mail(contractor)
    add_machine_to_visit(VisitFactory(shop=shop, firm=firm, contractor=contractor), machine)
    contractor.memberships.update(ended_at=factories.at(3))
    address = with_mail(rival)
    assert mailed() == [address]


@pytest.mark.usefixtures("contractor")
def test_the_shop_s_own_number_and_the_firm_s_are_there_to_call(machine, shop, firm):
    shop.phone, shop.contact = "555 0177", "Ned"
    shop.save()
    numbers = [(one.phone, one.ask_for) for one in contacts_of(shop, machine)]
    assert numbers == [("555 0177", "Ned"), (firm.phone, "")]


@pytest.mark.usefixtures("contractor")
def test_the_operator_reads_them_where_the_crash_is_logged(client, operator, machine, firm):
    client.force_login(operator)
    shown = client.get(f"/machines/{machine.pk}/incidents/new/").text
    assert f'href="tel:{firm.phone.replace(" ", "")}"' in shown
    incident = factories.IncidentFactory(machine=machine)
    assert firm.phone in client.get(incident.get_absolute_url()).text


def test_a_firm_without_a_number_is_left_out(machine, shop, contractor, firm):
    firm.phone = ""
    firm.save()
    assert contacts_of(shop, machine) == []
