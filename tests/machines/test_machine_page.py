"""A machine's page: may it run, what it is, and what each person may do from it."""

import pytest
from django.urls import reverse

from machines.drive.inspecting import inspect_belt
from machines.incidents.services import log_incident
from machines.incidents.stopping import stop_machine
from tests import factories


def page(client, person, machine):
    client.force_login(person)
    return client.get(reverse("machines:machine", args=[machine.pk]))


def test_a_stopped_machine_says_since_when_in_the_shops_zone(client, operator, machine):
    stop_machine(machine, at=factories.at(3, 12))
    shown = page(client, operator, machine).content.decode()
    assert "Stopped until looked at" in shown
    assert "3 Mar 2025, 13:00" in shown  # Zurich in winter is an hour ahead of UTC


def test_a_machine_that_may_run_says_so(client, operator, machine):
    assert "May run" in page(client, operator, machine).content.decode()


def test_anybody_of_the_shop_finds_the_way_to_log_what_happened(client, operator, machine):
    link = reverse("alignment:log_incident", args=[machine.pk])
    assert link in page(client, operator, machine).content.decode()


@pytest.mark.parametrize(
    ("name", "who"),
    [("release", {"owner", "contractor"}), ("open_visit", {"contractor"})],
)
def test_the_ways_on_are_shown_to_those_who_may_take_them(
    client, owner, operator, contractor, machine, name, who
):
    stop_machine(machine)
    people = {"owner": owner, "operator": operator, "contractor": contractor}
    link = reverse(f"machines:{name}", args=[machine.pk])
    shown_to = {
        role
        for role, person in people.items()
        if link in page(client, person, machine).content.decode()
    }
    assert shown_to == who


def test_the_drive_train_says_what_the_last_look_found(client, operator, machine):
    belt = machine.belts.get(name="guide bushing belt")
    inspect_belt(belt=belt, made_by=operator, teeth={4: "worn"}, made_at=factories.at(3))
    inspect_belt(belt=belt, made_by=operator, teeth={4: "worn", 9: "marked"})
    shown = page(client, operator, machine).content.decode()
    panel = shown[shown.index("Belts and bearings") : shown.index('id="history"')]
    assert "2 of 60 teeth not sound: 4 worn, 9 damaged." in panel
    assert "1 of 60 teeth" not in panel
    assert "Not inspected since it was fitted." in panel  # the jack shaft belt
    assert "guide bushing belt: 2 bad teeth · 1 of 2 belts not inspected" in panel


def test_it_says_what_a_machine_was_stopped_for(client, operator, machine):
    log_incident(
        machine=machine,
        made_by=operator,
        happened_at=factories.at(3),
        what_hit="drill",
        hit_what="collet",
        severity="crash",
        may_run=False,
    )
    assert "Stopped for: " in page(client, operator, machine).content.decode()


def test_each_thing_that_is_folded_up_says_what_lies_in_it(client, operator, machine):
    shown = page(client, operator, machine)
    folded = shown.context["folded"]
    assert [panel.title for panel in folded][:2] == ["Belts and bearings", "Due"]
    assert all(panel.summary for panel in folded)
    assert shown.content.decode().count("<summary>") >= len(folded)


def test_open_recommendations_name_urgency_and_evidence_the_most_urgent_first(
    client, operator, machine
):
    inspect_belt(
        belt=machine.belts.get(name="jack shaft belt"),
        made_by=operator,
        teeth={4: "worn", 9: "marked"},
    )
    cracked = inspect_belt(
        belt=machine.belts.get(name="guide bushing belt"), made_by=operator, teeth={7: "cracked"}
    )
    shown = page(client, operator, machine).content.decode()
    panel = shown[shown.index("Recommended replacements") :]
    assert panel.index("before it runs again") < panel.index("this visit")
    assert cracked.get_absolute_url() in panel[: panel.index("this visit")]


def test_the_page_costs_the_same_however_long_the_history(
    client, owner, machine, django_assert_max_num_queries
):
    spent = []
    for _ in range(2):
        for day in range(1, 6):
            log_incident(
                machine=machine,
                made_by=owner,
                happened_at=factories.at(day),
                what_hit="drill",
                hit_what="collet",
                severity="touch",
                may_run=True,
            )
            for belt in machine.belts.all():
                inspect_belt(belt=belt, made_by=owner, teeth={day: "cracked"})
        client.force_login(owner)
        with django_assert_max_num_queries(65) as counted:
            client.get(reverse("machines:machine", args=[machine.pk]))
        spent.append(len(counted))
    assert spent[0] == spent[1]
