"""Procedure cards: steps ticked by whom and when, frozen once the visit is signed."""

import re

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from alignment.adjusting.cards import CARDS, PARTS, card_of
from alignment.adjusting.models import StepTick
from machines.register.models import Station
from tests.factories import station_of


@pytest.fixture
def housing(machine):
    return station_of(machine, "guide bushing")


@pytest.fixture
def address(visit, housing):
    return reverse("alignment:card", args=[visit.pk, housing.pk])


@pytest.fixture
def tick(at_work, address):
    return lambda key="belt-off", name="tick": at_work.post(address, {name: key})


@pytest.mark.parametrize("kind", Station.Kind.values)
def test_every_kind_of_station_has_a_card_that_begins_with_locking_out_or_parking(kind):
    assert card_of(Station(kind=kind))[0].key in ("locked-out", "parked")


@pytest.mark.parametrize("kind", CARDS)
def test_steps_stand_in_the_order_prepare_measure_refit_with_keys_of_their_own(kind):
    steps = CARDS[kind]
    parts = [PARTS.index(step.part) for step in steps]
    assert parts == sorted(parts)
    assert len({step.key for step in steps}) == len(steps)


@pytest.mark.parametrize("kind", CARDS)
def test_what_is_unlocked_last_was_locked_out_before(kind):
    keys = [step.key for step in CARDS[kind]]
    assert keys.index("locked-out") < keys.index("swept") < keys.index("released") == len(keys) - 1


def test_a_tick_says_who_and_when(tick, at_work, address, contractor):
    tick()
    done = StepTick.objects.get()
    assert (done.made_by, done.words) == (
        contractor,
        "Belt off the guide bushing: its teeth looked at.",
    )
    assert re.search(rf"✓ Done, {contractor.name}, \d", at_work.get(address).text)


def test_a_step_ticked_twice_stands_once(tick):
    tick()
    tick()
    assert StepTick.objects.count() == 1


def test_ticking_starts_the_work_on_site(tick, visit):
    tick()
    visit.refresh_from_db()
    assert visit.state == "on site"


def test_a_tick_made_by_mistake_is_taken_back(tick):
    tick()
    tick(name="take_back")
    assert not StepTick.objects.exists()


def test_a_step_that_is_not_on_the_card_is_refused(at_work, address, tick):
    tick("tools-out")
    assert "has no such step" in at_work.get(address).text
    assert not StepTick.objects.exists()


def test_belt_off_leads_to_the_teeth_of_each_belt(at_work, address, machine, visit):
    text = at_work.get(address).text
    for belt in machine.belts.all():
        assert f"{reverse('machines:inspect_belt', args=[belt.pk])}?visit={visit.pk}" in text


def test_cautions_stand_at_their_step(at_work, address):
    step = at_work.get(address).text.partition('id="step-square"')[2].partition("</li>\n    <li")[0]
    assert "never hammered out" in step.replace("\n", " ")


def test_nothing_is_ticked_or_taken_back_at_a_signed_visit(tick, signed, taken_up):
    tick()
    signed(taken_up)
    tick("clean")
    tick(name="take_back")
    assert [done.step for done in StepTick.objects.all()] == ["belt-off"]


@pytest.mark.parametrize("change", ["update", "delete"])
def test_the_database_itself_keeps_a_signed_tick(tick, signed, taken_up, change):
    tick()
    signed(taken_up)
    done = StepTick.objects.filter(step="belt-off")
    with pytest.raises(IntegrityError, match="signed records do not change"), transaction.atomic():
        done.update(words="never done") if change == "update" else done.delete()


@pytest.mark.parametrize(
    ("role", "seen", "sent"),
    [
        ("owner", 200, 403),
        ("operator", 200, 403),
        ("stranger", 404, 404),
    ],
)
def test_others_may_read_but_not_tick(client, request, address, role, seen, sent):
    client.force_login(request.getfixturevalue(role))
    assert client.get(address).status_code == seen
    assert client.post(address, {"tick": "clean"}).status_code == sent


def test_a_station_of_another_shop_is_not_found(at_work, visit):
    from tests.factories import five_station_machine

    foreign = station_of(five_station_machine(), "guide bushing")
    address = reverse("alignment:card", args=[visit.pk, foreign.pk])
    assert at_work.get(address).status_code == 404
