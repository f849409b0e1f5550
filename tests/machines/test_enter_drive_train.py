"""Putting belts, bearings, housings and rebuilds on record."""

import uuid
from decimal import Decimal

import pytest
from django.urls import reverse

from machines.drive.inspecting import inspect_belt
from machines.drive.models import Assembly, Bearing, Belt, Rebuild
from machines.visit_work.services import add_machine_to_visit
from shop.visits.services import sign_visit
from tests import factories

BELT = {
    "name": "sub-spindle belt",
    "drives": "motor to sub-spindle",
    "profile": "XL",
    "teeth": "80",
    "width_mm": "12.7",
}
BEARING = {"name": "jack shaft, front", "kind": "ball", "contact_deg": "0"}
REBUILD = {
    "rebuilt_on": "2025-03-04",
    "who": "Ida Tresk",
    "fitted": "two bearings 61907",
    "feel_before": "rough",
    "feel_after": "smooth",
}


def send(client, person, name, record, typed, **query):
    client.force_login(person)
    return client.post(reverse(f"machines:{name}", args=[record.pk], query=query), typed)


def errors(response, field):
    return " ".join(response.context["form"].errors.get(field, []))


def test_a_known_profile_brings_its_pitch(client, owner, machine):
    """ISO 5296: XL is a fifth of an inch, 5.08 mm."""
    send(client, owner, "new_belt", machine, BELT)
    assert Belt.objects.get(name="sub-spindle belt").pitch_mm == Decimal("5.08")


def test_a_pitch_that_is_not_the_profile_s_is_refused(client, owner, machine):
    response = send(client, owner, "new_belt", machine, BELT | {"pitch_mm": "5"})
    assert "XL has a pitch of 5.08 mm" in errors(response, "pitch_mm")


def test_an_unknown_profile_needs_its_pitch(client, owner, machine):
    response = send(client, owner, "new_belt", machine, BELT | {"profile": "own"})
    assert "Give the pitch" in errors(response, "pitch_mm")


@pytest.mark.parametrize(
    ("box", "typed", "said"),
    [
        ("span_mm", "0", "must be more than zero"),
        ("width_mm", "wide", "does not start with a number"),
        ("tension_low_n", "ten", "is no force; expected such as 45 N or 10 lbf"),
        ("tension_low_n", "9999999 N", "far too much here"),
    ],
)
def test_a_box_says_what_it_expects(client, owner, machine, box, typed, said):
    response = send(client, owner, "new_belt", machine, BELT | {box: typed})
    assert said in errors(response, box)


def test_a_belt_needs_only_its_name_and_its_pulleys_at_first(client, owner, machine):
    send(client, owner, "new_belt", machine, {"name": "new belt", "drives": "spindle to pump"})
    belt = Belt.objects.get(name="new belt")
    assert belt.unknown == ["profile", "teeth", "width_mm"]
    page = client.get(belt.get_absolute_url()).text
    assert "profile, how many teeth, width; the next look asks for it" in page


def test_boxes_go_by_the_persons_own_units(client, owner, machine):
    """1 in = 25.4 mm exactly; 1 lbf = 4.4482216152605 N (NIST SP 811, appendix B.8)."""
    owner.length_unit = "in"
    owner.save()
    typed = {"width_mm": ".375", "tension_low_n": "10", "tension_high_n": "60 N"}
    send(client, owner, "new_belt", machine, BELT | typed)
    belt = Belt.objects.get(name="sub-spindle belt")
    assert belt.width_mm == Decimal("9.525")
    assert (belt.tension_low_n, belt.tension_high_n) == (Decimal("44.5"), Decimal("60"))
    page = client.get(reverse("machines:edit_belt", args=[belt.pk])).text
    assert 'value="0.375"' in page
    assert ">lbf<" in page


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"driving_teeth": "40"}, "both pulleys"),
        ({"mass_kg_per_m": "-1"}, "mass per metre must be more than zero"),
        ({"tension_low_n": "200"}, "both ends"),
        ({"tension_low_n": "200", "tension_high_n": "100"}, "both ends"),
        ({"driving_teeth": "90", "driven_teeth": "90"}, "too short for these pulleys"),
    ],
)
def test_figures_that_cannot_be_are_refused(client, owner, machine, typed, said):
    response = send(client, owner, "new_belt", machine, BELT | typed)
    assert said in errors(response, "__all__")
    assert not Belt.objects.filter(name="sub-spindle belt").exists()


def test_a_second_belt_of_one_name_is_refused(client, owner, machine):
    response = send(client, owner, "new_belt", machine, BELT | {"name": "jack shaft belt"})
    assert response.context["form"].errors


def test_a_belt_keeps_the_teeth_its_inspections_name(client, owner, operator, machine):
    from machines.drive.inspecting import inspect_belt

    belt = machine.belts.first()
    inspect_belt(belt=belt, made_by=operator, teeth={88: "marked"})
    response = send(client, owner, "edit_belt", belt, BELT | {"teeth": "60"})
    assert "tooth 88" in errors(response, "teeth")


def test_a_bearing_with_two_balls_is_refused(client, owner, machine):
    typed = BEARING | {"balls": "2", "ball_mm": "6", "pitch_mm": "30"}
    response = send(client, owner, "new_bearing", machine, typed)
    assert "three at least" in errors(response, "__all__")


def test_balls_that_do_not_fit_are_refused(client, owner, machine):
    typed = BEARING | {"balls": "30", "ball_mm": "6", "pitch_mm": "30"}
    response = send(client, owner, "new_bearing", machine, typed)
    assert "do not fit round" in errors(response, "__all__")
    assert not Bearing.objects.exists()


def test_a_part_of_another_shop_cannot_be_chosen(client, owner, machine):
    elsewhere = factories.PartFactory()
    response = send(client, owner, "new_belt", machine, BELT | {"part": elsewhere.pk})
    assert errors(response, "part")


def test_a_machine_has_one_housing(client, owner, machine):
    factories.AssemblyFactory(machine=machine)
    response = send(client, owner, "new_assembly", machine, {"kind": Assembly.Kind.HOUSING})
    assert "has one on record already" in errors(response, "__all__")


def test_a_rebuild_at_a_visit_goes_into_its_record(client, contractor, machine, visit):
    assembly = factories.AssemblyFactory(machine=machine)
    add_machine_to_visit(visit, machine)
    send(client, contractor, "rebuild", assembly, REBUILD, visit=visit.pk)
    rebuild = Rebuild.objects.get()
    assert (rebuild.visit, rebuild.feel_before, rebuild.feel_after) == (visit, "rough", "smooth")


def test_a_rebuild_sent_twice_is_one(client, owner, machine):
    assembly = factories.AssemblyFactory(machine=machine)
    typed = REBUILD | {"entry_id": str(uuid.uuid4())}
    for _ in range(2):
        send(client, owner, "rebuild", assembly, typed)
    assert Rebuild.objects.count() == 1


def test_a_rebuild_at_a_signed_visit_is_refused(client, contractor, machine, visit, settings):
    settings.BEFORE_SIGNING = settings.AFTER = []
    assembly = factories.AssemblyFactory(machine=machine)
    add_machine_to_visit(visit, machine)
    from shop.visits.services import arrive

    arrive(visit)
    sign_visit(visit, contractor=("A", "service"), customer=("B", "owner"))
    response = send(client, contractor, "rebuild", assembly, REBUILD, visit=visit.pk)
    assert "no longer changes" in errors(response, "__all__")


def test_a_rebuild_that_is_still_to_come_is_refused(client, owner, machine):
    assembly = factories.AssemblyFactory(machine=machine)
    response = send(client, owner, "rebuild", assembly, REBUILD | {"rebuilt_on": "2999-01-01"})
    assert "still to come" in errors(response, "rebuilt_on")


def test_a_belt_that_the_machine_does_not_have_is_removed(client, owner, machine):
    belt = machine.belts.get(name="jack shaft belt")
    send(client, owner, "remove_belt", belt, {})
    assert not machine.belts.filter(pk=belt.pk).exists()


def test_a_belt_that_was_looked_at_stays(client, owner, machine):
    belt = machine.belts.get(name="jack shaft belt")
    inspect_belt(belt=belt, made_by=owner, teeth={})
    send(client, owner, "remove_belt", belt, {})
    assert (
        "Something is on record of the jack shaft belt" in client.get(belt.get_absolute_url()).text
    )
    assert machine.belts.filter(pk=belt.pk).exists()


def test_a_housing_with_bearings_in_it_stays(client, owner, machine):
    housing = factories.AssemblyFactory(machine=machine)
    factories.BearingFactory(machine=machine, assembly=housing)
    send(client, owner, "remove_assembly", housing, {})
    assert machine.assemblies.filter(pk=housing.pk).exists()
