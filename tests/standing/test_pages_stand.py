"""Pages of one shop's records stand until something changes there, and then say it at once."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from alignment.sweeps.services import save_check
from machines.drive.inspecting import inspect_belt
from machines.incidents.services import log_incident
from machines.incidents.stopping import stop_machine
from machines.register.models import Machine
from machines.visit_work.services import add_machine_to_visit
from shop.people.memberships import change_role, end_membership
from shop.people.models import Role, User
from shop.snapshots import standing_of, with_generation
from shop.snapshots.pages import standing_as_read, standing_for
from shop.visits.services import note_come_back
from tests import factories


@pytest.fixture
def check(machine, visit, contractor):
    """A bore swept at the visit."""
    add_machine_to_visit(visit, machine)
    return save_check(
        visit=visit,
        item=factories.item_of(machine, "guide bushing"),
        phase="as found",
        sweep=factories.typed_sweep(40, 0),
        made_by=contractor,
    )


def address(name, machine, visit):
    return {
        "home": reverse("shop:home"),
        "machine": machine.get_absolute_url(),
        "history": reverse("machines:history", args=[machine.pk]),
        "drive train": reverse("machines:drive", args=[machine.pk]),
        "year": reverse("machines:year", args=[machine.shop_id]),
        "visit": visit.get_absolute_url(),
    }[name]


def shown(client, person, url):
    client.force_login(person)
    return client.get(url).content.decode()


def knock(machine, person):
    return log_incident(
        machine=machine,
        made_by=person,
        happened_at=timezone.now(),
        what_hit="boring bar",
        hit_what="collet",
        severity="knock",
        may_run=True,
    )


# Session, person, the record with its shop's generation, and the person's place there; the clock of
# a visit. On the first page the person's places, and the generations of their shops.
ONLY_ASKED_FOR = {
    "home": 5,
    "machine": 6,  # two for the shops whose machines lend to its drift
    "history": 4,
    "drive train": 4,
    "year": 4,
    "check": 5,
    "visit": 5,
}


@pytest.mark.parametrize(("name", "queries"), ONLY_ASKED_FOR.items())
def test_what_has_not_changed_is_not_worked_out_again(
    client, owner, machine, visit, check, name, queries
):
    knock(machine, owner)
    url = check.get_absolute_url() if name == "check" else address(name, machine, visit)
    first = shown(client, owner, url)
    with CaptureQueriesContext(connection) as ran:
        second = client.get(url).content.decode()
    assert len(ran) == queries
    assert without_tokens(second) == without_tokens(first)


def without_tokens(page):
    """A page without what is made anew each time it is shown."""
    return [line for line in page.splitlines() if "csrf" not in line.lower()]


@pytest.mark.parametrize("name", ["machine", "history", "home"])
def test_what_happened_shows_at_once(client, owner, operator, machine, visit, name):
    url = address(name, machine, visit)
    before = shown(client, owner, url)
    knock(machine, operator)
    stop_machine(machine)
    after = shown(client, owner, url)
    told = ">stopped<" if name == "home" else "Boring bar hit collet"
    assert told not in before
    assert told in after


def test_what_is_left_to_come_back_for_shows_at_once(client, contractor, machine, visit):
    add_machine_to_visit(visit, machine)
    shown(client, contractor, visit.get_absolute_url())
    note_come_back(visit, "the belt is still to come")
    assert "the belt is still to come" in shown(client, contractor, visit.get_absolute_url())


def test_a_look_at_a_belt_shows_at_once(client, operator, machine):
    url = machine.get_absolute_url()
    assert "4 worn" not in shown(client, operator, url)
    inspect_belt(belt=machine.belts.first(), made_by=operator, teeth={4: "worn"})
    assert "4 worn" in shown(client, operator, url)


def test_one_person_s_page_is_not_shown_to_another_with_a_lesser_place(
    client, contractor, owner, operator, machine, visit
):
    incident = knock(machine, operator)
    link = f"{reverse('machines:open_visit', args=[machine.pk])}?incident={incident.pk}"
    url = machine.get_absolute_url()
    assert link in shown(client, contractor, url)
    assert link not in shown(client, owner, url)
    money = 'id="money"'
    assert money in shown(client, contractor, visit.get_absolute_url())
    assert money not in shown(client, operator, visit.get_absolute_url())


def test_a_new_place_changes_the_page_at_once(client, operator, machine):
    url, link = machine.get_absolute_url(), reverse("machines:new_plan", args=[machine.shop_id])
    assert link not in shown(client, operator, url)
    change_role(operator.memberships.current().get(shop=machine.shop), Role.OWNER)
    assert link in shown(client, operator, url)


def test_each_person_reads_a_machine_in_their_own_unit(client, owner, contractor, machine, check):
    User.objects.filter(pk=contractor.pk).update(length_unit="in")
    assert "0.0400 mm" in shown(client, owner, machine.get_absolute_url())
    assert "0.00157 in" in shown(client, contractor, machine.get_absolute_url())


def test_a_check_is_told_in_the_unit_of_its_sheet_and_on_demand_in_the_other(
    client, contractor, check
):
    User.objects.filter(pk=contractor.pk).update(length_unit="in")
    assert "0.0400 mm" in shown(client, contractor, check.get_absolute_url())
    assert "0.00157 in" in shown(client, contractor, f"{check.get_absolute_url()}?unit=in")


def test_the_first_page_follows_a_person_from_shop_to_shop(client, owner, operator, machine):
    elsewhere = factories.MachineFactory(name="Long bed")
    assert "Long bed" not in shown(client, operator, "/")
    place = factories.MembershipFactory(user=operator, shop=elsewhere.shop, role=Role.OPERATOR)
    assert "Long bed" in shown(client, operator, "/")
    end_membership(place)
    page = shown(client, operator, "/")
    assert "Long bed" not in page
    assert machine.name in page


def test_time_goes_on_while_a_machine_stands(client, owner, machine, monkeypatch):
    """What is on record of a stop stands; how long it lasts by now does not."""
    now = timezone.localtime(timezone=machine.shop.zone).replace(month=6, day=10, hour=9, minute=0)
    monkeypatch.setattr("django.utils.timezone.now", lambda: now)
    stop_machine(machine, at=now - timedelta(hours=2))
    assert "<strong>2.0 h</strong>" in shown(client, owner, machine.get_absolute_url())
    later = now + timedelta(hours=3)
    monkeypatch.setattr("django.utils.timezone.now", lambda: later)
    assert "<strong>5.0 h</strong>" in shown(client, owner, machine.get_absolute_url())


def test_a_record_read_before_a_change_is_not_taken_for_one_read_after(machine):
    read = with_generation(Machine.objects.select_related("shop")).get(pk=machine.pk)
    assert standing_as_read(read, read.shop) == standing_of(machine.shop)
    stop_machine(machine)
    assert standing_as_read(read, read.shop).generation < standing_of(machine.shop).generation


def test_whoever_came_and_went_is_not_taken_for_one_who_never_came(operator):
    before = standing_for(operator)
    end_membership(factories.MembershipFactory(user=operator, role=Role.OPERATOR))
    assert standing_for(operator) != before
