"""Work is entered at a visit by the firm whose visit it is; another firm of the shop reads it."""

import functools

import pytest
from django.urls import reverse

from machines.drive.forms import AdviceForm, BearingInspectionForm, FitForm
from shop.people.access import works_at
from shop.visits.models import Visit
from tests import factories

from .rules import CONTRACTOR, OWNER, RIVAL, RULES

pytestmark = pytest.mark.django_db


@pytest.fixture
def heeding(client, world):
    """The addresses that enter something at the visit that `?visit=` names, for whoever works
    there: they know one that is not there for none."""
    client.force_login(world.people[CONTRACTOR])
    return {
        address
        for name, rule in RULES.items()
        if CONTRACTOR in rule.opens and rule.is_shown and rule.is_sent and not rule.public
        for address in [reverse(name, args=world.args(rule.records))]
        if client.get(address).status_code == 200
        and client.get(f"{address}?visit=0").status_code == 404
    }


def test_these_are_the_ways_to_enter_something_at_a_visit_by_the_machine(heeding):
    assert len(heeding) >= 6


@pytest.mark.parametrize("role", [RIVAL, OWNER, "operator"])
def test_nobody_but_its_firm_enters_anything_at_a_visit_by_naming_it(client, world, heeding, role):
    client.force_login(world.people[role])
    answers = {
        (method, address): getattr(client, method)(f"{address}?visit={world.visit.pk}").status_code
        for address in heeding
        for method in ("get", "post")
    }
    assert {one: status for one, status in answers.items() if status != 403} == {}


def test_its_firm_does(client, world, heeding):
    client.force_login(world.people[CONTRACTOR])
    for address in heeding:
        assert client.get(f"{address}?visit={world.visit.pk}").status_code == 200, address


@pytest.mark.parametrize(
    "form", [FitForm, AdviceForm, functools.partial(BearingInspectionForm, unit="mm")]
)
def test_no_form_offers_the_visit_of_another_firm(world, form):
    at_work = Visit.objects.worked_by(world.people[CONTRACTOR]).unsigned()
    machine = at_work.filter(visited__isnull=False).first().visited.first().machine
    own, rival = (form(machine=machine, user=world.people[role]) for role in (CONTRACTOR, RIVAL))
    assert own.fields["visit"].queryset.exists()
    assert "visit" not in rival.fields


def test_at_the_visit_s_page_another_firm_is_offered_nothing_to_enter(client, world):
    address = world.visit.get_absolute_url()
    client.force_login(world.people[CONTRACTOR])
    own = client.get(address).text
    client.force_login(world.people[RIVAL])
    theirs = client.get(address).text
    offered = f'?visit={world.visit.pk}"'
    assert reverse("alignment:placed", args=[world.machine.pk]) + offered in theirs
    assert own.count(offered) > theirs.count(offered) <= 1


def test_who_left_the_firm_no_longer_works_at_its_visits(visit, contractor):
    assert works_at(contractor, visit)
    place = contractor.memberships.get()
    place.firm = factories.FirmFactory()
    place.save()
    assert not works_at(contractor, visit)
    assert list(Visit.objects.worked_by(contractor)) == []
