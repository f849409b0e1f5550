"""The drive train's pages: what is on record, and what follows from it."""

from decimal import Decimal

import pytest
from django.urls import reverse

from tests import factories


@pytest.fixture
def path(machine):
    """Both belts between the spindles, geared up and down again."""
    jack, guide = machine.belts.order_by("pk")
    for place, belt, pulleys in ((1, jack, (40, 32)), (2, guide, (32, 40))):
        belt.place_in_path, (belt.driving_teeth, belt.driven_teeth) = place, pulleys
        belt.save()
    return jack, guide


def page(client, person, name, record):
    client.force_login(person)
    return client.get(reverse(f"machines:{name}", args=[record.pk])).content.decode()


def test_pulleys_that_cancel_out_turn_the_guide_bushing_in_step(client, owner, machine, path):
    assert "turns in step with the main spindle (1:1)" in page(client, owner, "drive", machine)


def test_a_wrong_pulley_is_said_plainly(client, operator, machine, path):
    path[1].driven_teeth = 41
    path[1].save()
    shown = page(client, operator, "drive", machine)
    assert "does not turn in step with the main spindle: 40 turns for every 41" in shown


def test_without_pulleys_the_page_says_what_is_missing(client, owner, machine):
    assert "cannot be told yet" in page(client, owner, "drive", machine)


def test_a_belt_shows_what_its_pulleys_come_to(client, owner, machine):
    """24 and 24 teeth of 5 mm on a 500 mm belt: centres 190 mm apart, half of each in mesh."""
    belt = factories.BeltFactory(machine=machine, teeth=100, driving_teeth=24, driven_teeth=24)
    shown = page(client, owner, "belt", belt)
    for expected in ("<dd>500 mm</dd>", "<dd>190 mm</dd>", "<dd>12</dd>"):
        assert expected in shown


def test_a_belt_says_what_note_to_tune_for(client, owner, machine):
    """T = 4·m·L²·f²: 100 N on 0.25 m of 0.1 kg/m ring at 63.2 Hz, 144 N at 75.9 Hz."""
    belt = factories.BeltFactory(
        machine=machine,
        teeth=100,
        driving_teeth=24,
        driven_teeth=24,
        span_mm=Decimal("250"),
        mass_kg_per_m=Decimal("0.1"),
        tension_low_n=Decimal("100"),
        tension_high_n=Decimal("144"),
    )
    assert "63.2 to 75.9 Hz" in page(client, owner, "belt", belt)


def test_too_few_teeth_in_mesh_are_named(client, owner, machine):
    belt = factories.BeltFactory(machine=machine, teeth=60, driving_teeth=10, driven_teeth=40)
    assert "(at least 6 should)" in page(client, owner, "belt", belt)


def test_a_bearing_shows_its_frequencies_and_its_rating_life(client, owner, machine):
    """C 9600 N under 960 N: (10)³ = 1000 million turns, at 1000 rpm 16,667 h (ISO 281)."""
    bearing = factories.BearingFactory(
        machine=machine, load_n=Decimal("960"), speed_rpm=Decimal("1000")
    )
    shown = page(client, owner, "bearing", bearing)
    assert "1000 million turns, 16667 h" in shown
    assert "inner ring (BPFI)" in shown


def test_the_life_used_comes_from_the_meter(client, owner, machine):
    """16,667 h of life; 5,000 h run since it was fitted are 30 %."""
    bearing = factories.BearingFactory(
        machine=machine,
        load_n=Decimal("960"),
        speed_rpm=Decimal("1000"),
        fitted_on=factories.at(3).date(),
    )
    factories.metered(machine, owner, {factories.at(3): 700, factories.at(30): 5700})
    assert "5,000 of 16,667 h, 30 %" in page(client, owner, "bearing", bearing)


def test_hours_before_the_meter_was_first_read_are_not_guessed(client, owner, machine):
    bearing = factories.BearingFactory(machine=machine, fitted_on=factories.at(3).date())
    factories.metered(machine, owner, {factories.at(20): 700, factories.at(30): 5700})
    assert "cannot be told" in page(client, owner, "bearing", bearing)


@pytest.mark.parametrize("belts", [1, 7])
def test_a_drive_page_costs_the_same_however_many_belts(
    client, owner, machine, belts, django_assert_max_num_queries
):
    for _ in range(belts):
        factories.BeltFactory(machine=machine, partner=machine.belts.first())
        factories.BearingFactory(machine=machine)
    client.force_login(owner)
    with django_assert_max_num_queries(9):
        client.get(reverse("machines:drive", args=[machine.pk]))
