"""One crash logged by two people, or by one who did not see that the first had gone through."""

from datetime import timedelta

import pytest
from django.urls import reverse

from machines.incidents.models import Incident
from machines.incidents.services import log_incident
from machines.incidents.twice import maybe_twice
from tests import factories

AT = factories.at(3)


@pytest.fixture
def log(machine, operator):
    def logged(after=timedelta(0), **account):
        account = {"kind": "hit", "may_run": False} | account
        return log_incident(machine=machine, made_by=operator, happened_at=AT + after, **account)

    return logged


@pytest.fixture
def say(client, operator):
    client.force_login(operator)

    def said(incident, answer):
        address = reverse("machines:same_incident", args=[incident.pk])
        return client.post(address, {answer: "yes"}, follow=True)

    return said


def shown(client, incident):
    return client.get(incident.get_absolute_url()).text


def test_a_second_crash_within_minutes_is_taken_and_asked_about(client, owner, log):
    first, second = log(), log(timedelta(minutes=4))
    client.force_login(owner)
    assert "Is it this one?" in shown(client, second)
    assert "Is it this one?" not in shown(client, first)
    assert "Logged twice?" in client.get(first.machine.get_absolute_url()).text


@pytest.mark.parametrize(
    ("later", "account"),
    [(timedelta(minutes=16), {}), (timedelta(minutes=4), {"kind": "noise"})],
    ids=["a quarter of an hour on", "something else"],
)
def test_what_is_clearly_another_is_not_asked_about(log, later, account):
    log()
    assert maybe_twice(log(later, **account)) is None


def test_one_tap_joins_both_and_loses_nothing(say, client, log, machine):
    first, second = log(), log(timedelta(minutes=2), note="Heard it from the office.")
    station = factories.station_of(machine, "sub-spindle")
    second.stations_hit.create(station=station)
    answer = say(second, "same")
    assert answer.redirect_chain[-1][0] == first.get_absolute_url()
    second.refresh_from_db()
    assert (second.same_as, second.state) == (first, Incident.State.CLOSED)
    assert [hit.station for hit in first.stations_hit.all()] == [station]
    assert second.get_absolute_url() in answer.text
    assert "Heard it from the office." in shown(client, second)
    assert list(machine.incidents.open()) == [first]
    assert machine.standstills.get().incident == first


def test_one_tap_keeps_both_and_is_not_asked_again(say, client, log):
    first, second = log(), log(timedelta(minutes=2))
    assert "Both are kept." in say(second, "both").text
    assert "Is it this one?" not in shown(client, second)
    assert set(Incident.objects.open()) == {first, second}


def test_joining_twice_is_refused_in_words(say, log):
    log()
    second = log(timedelta(minutes=2))
    say(second, "same")
    assert "no other incident of those minutes" in say(second, "same").text


def test_a_crash_logged_twice_counts_once(say, log):
    first, second = log(), log(timedelta(minutes=2))
    assert Incident.objects.each_once().count() == 2
    say(second, "same")
    assert list(Incident.objects.each_once()) == [first]
