"""Stopping a machine until it is looked at, without an incident."""

from django.urls import reverse

from machines.incidents.stopping import stop_machine


def url(machine):
    return reverse("machines:stop", args=[machine.pk])


def test_the_page_asks_before_it_stops(client, operator, machine):
    client.force_login(operator)
    assert "Stop it until it is looked at?" in client.get(url(machine)).content.decode()
    assert not machine.standstills.exists()


def test_an_operator_may_stop_a_machine(client, operator, machine):
    client.force_login(operator)
    response = client.post(url(machine))
    assert response.url == machine.get_absolute_url()
    assert machine.standstills.get().ended_at is None


def test_a_machine_is_stopped_only_once(client, operator, machine):
    stop_machine(machine)
    client.force_login(operator)
    client.post(url(machine))
    assert machine.standstills.count() == 1


def test_a_strangers_machine_is_not_found(client, stranger, machine):
    client.force_login(stranger)
    assert client.post(url(machine)).status_code == 404
    assert not machine.standstills.exists()
