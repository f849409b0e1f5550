"""The picture of a machine gathered from what is on record: today, and as seen at a visit."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from alignment.sweeps.machine_pictures import machine_figure, machine_figures
from machines.drive.inspecting import inspect_belt
from machines.register.models import Machine
from tests import factories
from tests.factories import item_of, station_of


@pytest.fixture
def marks(machine):
    """Kind of station to its mark, today or at a visit."""

    def read(visit=None):
        figure = machine_figure(Machine.objects.get(pk=machine.pk), "um", visit)
        return {mark.kind: mark for mark in figure.stations}

    return read


@pytest.fixture
def an_hour_ago():
    return timezone.now() - timedelta(hours=1)


def test_it_shows_what_each_station_is_worth(marks, sweep_of, machine, an_hour_ago):
    sweep_of(item_of(machine, "guide bushing"), 1, 0, made_at=an_hour_ago)
    sweep_of(item_of(machine, "sub-spindle"), 90, 0, made_at=an_hour_ago)
    seen = marks()
    assert seen["guide bushing"].state == "within"
    assert seen["sub-spindle"].state == "outside"
    assert seen["gang tools"].state == "not measured"


def test_a_crash_stands_where_it_hit(marks, crash, sweep_of, machine, an_hour_ago):
    sweep_of(item_of(machine, "sub-spindle"), 1, 0, made_at=an_hour_ago)
    incident = crash("sub-spindle")
    mark = marks()["sub-spindle"]
    at = incident.happened_at.astimezone(machine.shop.zone)
    assert (mark.state, mark.counts) == ("before the crash", False)
    assert mark.hit == f"{at.day} {at:%b}"
    assert marks()["guide bushing"].hit == ""


def test_a_closed_crash_is_history(marks, crash):
    incident = crash("sub-spindle")
    type(incident).objects.filter(pk=incident.pk).update(state="closed")
    assert marks()["sub-spindle"].hit == ""


def test_what_was_moved_and_not_measured_again_says_so(
    marks, moved, sweep_of, machine, an_hour_ago
):
    sweep_of(item_of(machine, "guide bushing"), 1, 0, made_at=an_hour_ago)
    moved("guide bushing")
    mark = marks()["guide bushing"]
    assert (mark.state, mark.counts) == ("stale", False)
    assert mark.moved
    assert marks()["sub-spindle"].moved == ""


def test_at_a_visit_it_shows_what_was_moved_there(marks, moved, taken_up):
    moved("guide bushing")
    seen = marks(taken_up)
    assert seen["guide bushing"].moved
    assert seen["sub-spindle"].moved == ""


def test_a_signed_visit_keeps_its_picture(marks, sweep_of, signed, taken_up, machine, crash):
    sweep_of(item_of(machine, "sub-spindle"), 1, 0, made_at=timezone.now() - timedelta(hours=1))
    signed(taken_up)
    taken_up.refresh_from_db()
    crash("sub-spindle")
    assert marks(taken_up)["sub-spindle"].state == "within"
    assert marks()["sub-spindle"].state == "before the crash"


def test_a_machine_with_its_headstock_at_the_right_is_told_the_same(marks, sweep_of, machine):
    sweep_of(item_of(machine, "sub-spindle"), 3, 4)
    left = marks()["sub-spindle"].view
    Machine.objects.filter(pk=machine.pk).update(headstock_side="right")
    right = marks()["sub-spindle"].view
    assert right.up_um == left.up_um
    assert right.front_um == -left.front_um  # the same reading, seen from the other hand


def test_bad_teeth_stand_on_their_belt(machine, operator):
    belt = machine.belts.get(name="guide bushing belt")
    inspect_belt(belt=belt, made_by=operator, teeth={4: "worn", 9: "marked"})
    figure = machine_figure(Machine.objects.get(pk=machine.pk), "um")
    assert {one.name: one.bad for one in figure.belts} == {
        "guide bushing belt": 2,
        "jack shaft belt": None,
    }


def test_a_run_out_has_a_size_and_no_direction(machine, sweep_of):
    head = station_of(machine, "headstock")
    item = head.items.first() or factories.AcceptanceItemFactory(
        sheet=machine.sheets.get(), station=head, position=40, name="run-out", quantity="tir"
    )
    sweep_of(item, 1, 1)
    view = machine_figure(Machine.objects.get(pk=machine.pk), "um").stations[0].view
    assert view.size_um is not None
    assert view.front_um is None


@pytest.mark.parametrize("count", [2, 9])
def test_many_machines_cost_what_two_do(
    shop, operator, count, django_assert_num_queries, contractor
):
    machines = [factories.five_station_machine(shop, number=f"Q{n}") for n in range(count)]
    for machine in machines:
        inspect_belt(belt=machine.belts.first(), made_by=operator, teeth={4: "worn"})
        machine.incidents.create(
            kind="hit", happened_at=timezone.now(), made_by=operator, may_run=True
        ).stations_hit.create(station=station_of(machine, "sub-spindle"))
    machines = list(Machine.objects.select_related("shop"))
    with django_assert_num_queries(10):
        machine_figures(machines, "um")


@pytest.fixture
def picture(machine):
    return reverse("alignment:drawn_machine", args=[machine.pk])


def test_the_picture_is_an_image_of_its_own(client, operator, picture):
    client.force_login(operator)
    answer = client.get(picture, {"size": "narrow", "palette": "dark"})
    assert answer["Content-Type"] == "image/svg+xml"
    assert 'viewBox="0 0 320' in answer.text


@pytest.mark.parametrize("asked", [{"size": "huge"}, {"palette": "pink"}, {}])
def test_what_it_does_not_know_is_the_usual_one(client, operator, picture, asked):
    client.force_login(operator)
    assert 'viewBox="0 0 640' in client.get(picture, asked).text


@pytest.mark.parametrize("visit", ["7000", "x", "-1"])
def test_a_visit_that_did_not_work_on_it_has_no_picture_of_it(client, operator, picture, visit):
    client.force_login(operator)
    assert client.get(picture, {"visit": visit}).status_code == 404


def test_a_picture_follows_what_happens(client, operator, picture, crash):
    client.force_login(operator)
    assert ", hit " not in client.get(picture).text
    crash("sub-spindle")
    assert ", hit " in client.get(picture).text
