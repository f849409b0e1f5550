"""Letting a stopped machine run again."""

import uuid

import pytest
from django.urls import reverse

from machines.drive.inspecting import inspect_belt
from machines.incidents.models import Incident
from machines.incidents.services import log_incident
from machines.incidents.stopping import stop_machine
from tests import factories


@pytest.fixture
def stopped(machine, operator):
    log_incident(
        machine=machine,
        made_by=operator,
        happened_at=factories.at(3),
        what_hit="drill",
        hit_what="collet",
        severity="hard",
        may_run=False,
    )
    return machine


def release(client, person, machine, reason="Swept; guide bushing within."):
    client.force_login(person)
    return client.post(reverse("machines:release", args=[machine.pk]), {"reason": reason})


def test_the_owner_lets_it_run_with_a_reason(client, owner, stopped):
    assert release(client, owner, stopped).url == stopped.get_absolute_url()
    stop = stopped.standstills.get()
    assert (stop.reason, stop.ended_by) == ("Swept; guide bushing within.", owner)


def test_its_open_incidents_count_as_looked_at(client, contractor, stopped):
    release(client, contractor, stopped)
    assert stopped.incidents.get().state == Incident.State.LOOKED_AT


def test_an_operator_may_not(client, operator, stopped):
    assert release(client, operator, stopped).status_code == 403
    assert stopped.standstills.get().ended_at is None


@pytest.mark.parametrize("reason", ["", "   "])
def test_without_a_reason_it_stays_stopped_and_the_box_says_so(client, owner, stopped, reason):
    response = release(client, owner, stopped, reason)
    assert response.context["form"].errors["reason"]
    assert stopped.standstills.get().ended_at is None


def test_a_form_sent_twice_lets_it_run_once(client, owner, stopped):
    release(client, owner, stopped)
    assert release(client, owner, stopped).url == stopped.get_absolute_url()
    assert stopped.standstills.count() == 1


def test_what_must_come_first_is_shown(client, owner, machine):
    inspect_belt(belt=machine.belts.first(), made_by=owner, teeth={7: "cracked"})
    stop_machine(machine)
    client.force_login(owner)
    shown = client.get(reverse("machines:release", args=[machine.pk])).content.decode()
    assert machine.recommendations.get().get_absolute_url() in shown


def test_the_page_shows_the_crash_and_what_is_not_known(client, owner, stopped):
    client.force_login(owner)
    page = client.get(reverse("machines:release", args=[stopped.pk])).text
    incident = stopped.incidents.get()
    assert f'href="{incident.get_absolute_url()}"' in page
    unknown = page.partition("Not known, or outside")[2].partition("</section>")[0]
    for station in stopped.stations.exclude(kind="headstock"):
        assert str(station).capitalize() in unknown


def test_what_was_stopped_before_does_not_run_by_a_second_incident(client, operator, stopped):
    client.force_login(operator)
    said = {"kind": "noise", "may_run": "yes", "severity": "touch", "entry_id": str(uuid.uuid4())}
    said["happened_at"] = "2025-03-05T09:00"
    page = client.post(reverse("alignment:log_incident", args=[stopped.pk]), said, follow=True).text
    assert "The machine stays stopped" in page
    assert "The machine may run." not in page
