"""Two people who change one record in the admin: the second is told, and nothing is saved over."""

import pytest
from django.contrib import admin
from django.contrib.auth.models import Group
from django.test import Client
from django.urls import reverse

from machines.drive.models import Belt
from machines.register.models import Axis, Machine
from shop.audit.actor import acting
from shop.people.admin_editing import StampedAdmin
from shop.people.models import Membership, Role, User
from shop.record import our_apps
from tests import factories
from tests.fuzz.pages import Page
from tests.together import together

pytestmark = pytest.mark.django_db


@pytest.fixture
def keeper(client):
    person = factories.UserFactory(is_staff=True, is_superuser=True)
    client.force_login(person)
    return person


@pytest.fixture
def colleague():
    return factories.UserFactory(first_name="Kim", last_name="Ash", is_staff=True)


@pytest.fixture
def machine(shop):
    made = factories.MachineFactory(shop=shop, number="M1", name="slider")
    factories.BeltFactory(machine=made)
    return made


def address_of(record):
    name = f"admin:{record._meta.app_label}_{record._meta.model_name}_change"
    return reverse(name, args=[record.pk])


def typed(page, **changed):
    """What a browser would send of the page as it was drawn, with some of it typed over; the belt
    has no partner, and nobody is given a right."""
    form = Page("/", page.text).by_id[f"{page.context['opts'].model_name}_form"]
    nothing = {"belts-0-partner": "", "groups": [], "user_permissions": []}
    return form.filled_in() | nothing | changed


def test_the_second_is_told_who_changed_what_and_nothing_is_saved(
    client, keeper, colleague, machine
):
    page = client.get(address_of(machine))
    with acting(who=colleague.pk):
        Machine.objects.filter(pk=machine.pk).update(name="slider by the door")

    told = client.post(address_of(machine), typed(page, name="slider 20 mm"))

    assert told.status_code == 200
    assert "Kim Ash changed this: name from slider to slider by the door" in told.text
    machine.refresh_from_db()
    assert machine.name == "slider by the door"


def test_what_was_typed_is_kept_and_saved_when_sent_again(client, keeper, colleague, machine):
    page = client.get(address_of(machine))
    with acting(who=colleague.pk):
        Machine.objects.filter(pk=machine.pk).update(name="slider by the door")
    told = client.post(address_of(machine), typed(page, name="slider 20 mm"))

    assert 'value="slider 20 mm"' in told.text
    assert client.post(address_of(machine), typed(told)).status_code == 302

    machine.refresh_from_db()
    assert machine.name == "slider 20 mm"


def test_a_belt_that_is_changed_on_the_machine_s_page_counts(client, keeper, colleague, machine):
    page = client.get(address_of(machine))
    belt = machine.belts.get()
    with acting(who=colleague.pk):
        Belt.objects.filter(pk=belt.pk).update(name="belt to the jack shaft")

    told = client.post(address_of(machine), typed(page))

    assert f"Kim Ash changed belt no. {belt.pk}: name from" in told.text
    belt.refresh_from_db()
    assert belt.name == "belt to the jack shaft"


def test_an_axis_that_was_taken_away_meanwhile_is_told(client, keeper, colleague, machine):
    axis = Axis.objects.create(machine=machine, name="X1")
    page = client.get(address_of(machine))
    with acting(who=colleague.pk):
        axis.delete()

    told = client.post(address_of(machine), typed(page))

    assert told.status_code == 200
    assert "Kim Ash removed axis no." in told.text


def test_what_happened_to_the_machine_meanwhile_is_in_nobody_s_way(client, keeper, machine):
    page = client.get(address_of(machine))
    factories.IncidentFactory(machine=machine)

    assert client.post(address_of(machine), typed(page)).status_code == 302


def test_a_person_s_places_and_groups_count(client, keeper, colleague, operator, shop):
    page = client.get(address_of(operator))
    place = operator.memberships.get()
    group = Group.objects.create(name="keepers")
    with acting(who=colleague.pk):
        Membership.objects.filter(pk=place.pk).update(role=Role.OWNER)
        operator.groups.add(group)

    told = client.post(address_of(operator), typed(page))

    assert told.status_code == 200
    assert f"changed membership no. {place.pk}: role from operator to shop owner" in told.text
    assert "group from nothing to keepers" in told.text
    assert list(operator.groups.all()) == [group]


@pytest.mark.django_db(transaction=True)
def test_of_two_who_send_one_form_at_once_one_is_told(machine):
    def typed_by(name):
        client = Client()
        client.force_login(factories.UserFactory(is_staff=True, is_superuser=True))
        sent = typed(client.get(address_of(machine)), name=name)
        return lambda: client.post(address_of(machine), sent)

    answers = together(typed_by("by the door"), typed_by("by the window"))

    assert sorted(answer.status_code for answer in answers) == [200, 302]
    told = next(answer for answer in answers if answer.status_code == 200)
    assert "changed this: name from" in told.text


def test_every_form_of_the_admin_that_changes_our_records_carries_the_version(rf, keeper):
    request = rf.get("/admin/")
    request.user = keeper
    ours = [
        site
        for model, site in admin.site._registry.items()
        if model._meta.app_label in our_apps() and site.has_change_permission(request)
    ]

    assert User in {site.model for site in ours}
    assert [site for site in ours if not isinstance(site, StampedAdmin)] == []
