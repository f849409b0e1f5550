"""The chain in one frame, and which station's move explains what reads off."""

import pytest
from django.urls import reverse

from alignment.adjusting.positions import placed_chain
from alignment.sweeps.services import save_check
from tests import factories
from tests.alignment.test_plan_a_move import tilt_swept


def swept(visit, machine, contractor, kind, right_um, up_um):
    return save_check(
        visit=visit,
        item=factories.item_of(machine, kind),
        phase="as found",
        sweep=factories.typed_sweep(right_um, up_um),
        made_by=contractor,
    )


def places(machine, visit=None):
    return {p.station.kind: p for p in placed_chain(machine, visit).stations}


def test_a_station_stands_at_the_sum_of_the_offsets_on_its_way(visit, machine, contractor):
    swept(visit, machine, contractor, "guide bushing", 10, 5)
    swept(visit, machine, contractor, "sub-spindle", -4, 2)
    sub = places(machine)["sub-spindle"]
    assert (sub.front_um, sub.up_um) == pytest.approx((6, 7), abs=1e-6)


def test_its_uncertainty_grows_with_every_link(visit, machine, contractor):
    swept(visit, machine, contractor, "guide bushing", 10, 5)
    swept(visit, machine, contractor, "sub-spindle", -4, 2)
    found = places(machine)
    assert found["sub-spindle"].u_um == pytest.approx(2**0.5 * found["guide bushing"].u_um)


def test_an_indicator_in_the_station_looking_back_turns_left_and_right(visit, machine, contractor):
    station = factories.station_of(machine, "guide bushing")
    station.indicator_in, station.look = "station", "to the headstock"
    station.save()
    swept(visit, machine, contractor, "guide bushing", 10, 5)
    found = places(machine)["guide bushing"]
    assert (found.front_um, found.up_um) == pytest.approx((10, -5), abs=1e-6)


def test_a_station_measured_from_one_never_measured_has_no_place_and_says_why(
    visit, machine, contractor
):
    swept(visit, machine, contractor, "sub-spindle", 1, 1)
    found = places(machine)["sub-spindle"]
    assert found.axis is None
    assert "guide bushing housing, which was never measured" in found.why_not


def test_a_tilted_housing_carries_what_is_measured_from_it_along_its_direction(
    visit, machine, contractor
):
    """10 µm per 100 mm over the 200 mm from the housing to the sub-spindle is 20 µm."""
    for kind, plane_mm in (("guide bushing", 100), ("sub-spindle", 300)):
        station = factories.station_of(machine, kind)
        station.plane_mm = plane_mm
        station.save()
    swept(visit, machine, contractor, "guide bushing", 0, 0)
    tilt_swept(visit, machine, contractor, 0, 8)
    swept(visit, machine, contractor, "sub-spindle", 0, 0)
    found = places(machine)
    assert found["guide bushing"].slopes == pytest.approx((10, 0), abs=1e-6)
    assert found["sub-spindle"].front_um == pytest.approx(20, abs=1e-6)
    assert found["sub-spindle"].slopes is None


def test_a_housing_that_moved_explains_the_stations_that_read_off_the_other_way(
    client, visit, machine, contractor
):
    for kind, right_um in (("guide bushing", 60), ("sub-spindle", -60), ("gang tools", -60)):
        swept(visit, machine, contractor, kind, right_um, 0)
    swept(visit, machine, contractor, "back tools", 0, 0)
    best = placed_chain(machine, visit).culprits[0]
    assert best.station == factories.station_of(machine, "guide bushing").name
    client.force_login(contractor)
    page = client.get(reverse("alignment:placed", args=[machine.pk]), {"visit": visit.pk})
    assert "the guide bushing housing moved" in page.content.decode()


def test_a_machine_without_stations_has_an_empty_chain(shop):
    assert placed_chain(factories.MachineFactory(shop=shop)).stations == ()


@pytest.mark.parametrize("times", [1, 4])
def test_the_page_costs_the_same_however_often_the_machine_was_measured(
    client, visit, machine, contractor, times, django_assert_max_num_queries
):
    for _ in range(times):
        swept(visit, machine, contractor, "guide bushing", 1, 0)
        swept(visit, machine, contractor, "sub-spindle", 1, 0)
    client.force_login(contractor)
    with django_assert_max_num_queries(15):
        client.get(reverse("alignment:placed", args=[machine.pk]))


def test_another_shops_chain_does_not_exist(client, machine, stranger):
    client.force_login(stranger)
    assert client.get(reverse("alignment:placed", args=[machine.pk])).status_code == 404
