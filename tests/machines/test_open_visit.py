"""Opening a visit from a machine's page."""

import uuid
from datetime import timedelta

import pytest
from django.urls import reverse

from machines.register.models import VisitedMachine
from machines.visit_work.services import add_machine_to_visit
from shop.visits.models import Visit
from tests import factories


@pytest.fixture
def incident(machine, operator):
    return factories.IncidentFactory(machine=machine, made_by=operator)


def url(machine):
    return reverse("machines:open_visit", args=[machine.pk])


def send(client, person, machine, **typed):
    client.force_login(person)
    return client.post(url(machine), {"purpose": "Realign after the crash", **typed})


def test_a_contractor_opens_a_visit_with_the_machine_and_its_incident(
    client, contractor, firm, machine, incident
):
    response = send(client, contractor, machine, incident=incident.pk)
    visit = Visit.objects.get()
    assert response.url == visit.get_absolute_url()
    assert (visit.firm, visit.contractor, visit.shop) == (firm, contractor, machine.shop)
    assert VisitedMachine.objects.get().incident == incident


def test_the_incident_that_calls_for_it_fills_in_the_purpose(client, contractor, machine, incident):
    client.force_login(contractor)
    form = client.get(url(machine), {"incident": incident.pk}).context["form"]
    assert form.initial["purpose"] == "Gang tool holder hit sub-spindle nose"
    assert form.initial["incident"] == incident


@pytest.mark.parametrize("named", ["999", "x", ""])
def test_an_incident_that_is_not_there_fills_in_nothing(client, contractor, machine, named):
    client.force_login(contractor)
    response = client.get(url(machine), {"incident": named})
    assert "purpose" not in response.context["form"].initial


def test_another_machines_incident_is_refused_at_the_field(client, contractor, machine):
    foreign = factories.IncidentFactory(
        machine=factories.MachineFactory(shop=machine.shop), made_by=contractor
    )
    response = send(client, contractor, machine, incident=foreign.pk)
    assert "not an open incident of this machine" in str(response.context["form"].errors)
    assert not Visit.objects.exists()


def test_a_plan_for_a_day_that_has_passed_is_refused_at_the_field(client, contractor, machine):
    yesterday = factories.today() - timedelta(days=2)
    response = send(client, contractor, machine, planned_for=yesterday.isoformat())
    assert "has passed" in str(response.context["form"].errors["planned_for"])
    assert response.context["form"]["purpose"].value() == "Realign after the crash"


def test_a_visit_may_be_planned_ahead(client, contractor, machine):
    ahead = factories.today() + timedelta(days=30)
    send(client, contractor, machine, planned_for=ahead.isoformat())
    assert Visit.objects.get().planned_for == ahead


def test_a_visit_says_what_it_is_for(client, contractor, machine):
    response = send(client, contractor, machine, purpose="")
    assert response.context["form"].errors["purpose"]


def test_a_form_sent_twice_opens_one_visit(client, contractor, machine):
    entry = str(uuid.uuid4())
    first = send(client, contractor, machine, entry_id=entry)
    second = send(client, contractor, machine, entry_id=entry)
    assert first.url == second.url
    assert Visit.objects.count() == VisitedMachine.objects.count() == 1


def test_a_second_machine_joins_a_visit_that_is_open(client, contractor, machine, visit):
    add_machine_to_visit(visit, machine)
    other = factories.MachineFactory(shop=machine.shop)
    response = send(client, contractor, other, join=visit.pk, purpose="")
    assert response.url == visit.get_absolute_url()
    assert set(visit.visited.values_list("machine", flat=True)) == {machine.pk, other.pk}


def test_another_firms_visit_cannot_be_joined(client, contractor, machine, visit):
    foreign = factories.VisitFactory(shop=machine.shop)
    response = send(client, contractor, machine, join=foreign.pk)
    assert response.context["form"].errors["join"]


@pytest.mark.parametrize("role", ["owner", "operator"])
def test_only_contractors_open_visits(client, request, machine, role):
    person = request.getfixturevalue(role)
    assert send(client, person, machine).status_code == 403
    assert not Visit.objects.exists()
