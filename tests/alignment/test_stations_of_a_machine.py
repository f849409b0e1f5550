"""The stations of a machine on its page: added, put in another order, ended and never lost."""

import pytest
from django.urls import reverse

from alignment.sheets.models import AcceptanceSheet
from alignment.sheets.stations import (
    add_station,
    end_station,
    guessed,
    move_station,
    stations_named,
)
from alignment.sweeps.chain_view import chain_at
from machines.register.models import Station
from shop.web.errors import Refused
from tests import factories
from tests.factories import station_of


def names(machine):
    return [one.name for one in machine.stations.current().order_by("position")]


@pytest.fixture
def desk(client, owner):
    client.force_login(owner)
    return client


def test_the_page_shows_the_drawing_and_every_station_in_checking_order(desk, machine):
    page = desk.get(reverse("alignment:stations", args=[machine.pk])).text
    assert reverse("alignment:machine_picture", args=[machine.pk]) in page
    places = [page.index(f"<h2>{name[0].upper()}{name[1:]}") for name in names(machine)]
    assert places == sorted(places)


def test_the_page_asks_the_database_as_often_for_ten_stations_as_for_five(
    desk, machine, django_assert_max_num_queries
):
    for number in range(5):
        add_station(machine, Station(name=f"extra {number}", kind="other"))
    with django_assert_max_num_queries(12):
        desk.get(reverse("alignment:stations", args=[machine.pk]))


def test_a_station_is_added_behind_the_others(desk, machine):
    said = {"name": "turret", "kind": "turret", "plane": "140"}
    said["datum"] = station_of(machine, "guide bushing").pk
    desk.post(reverse("alignment:new_station", args=[machine.pk]), said)
    turret = machine.stations.get(name="turret")
    assert (turret.position, turret.datum.kind) == (6, "guide bushing")


def test_the_first_station_of_a_machine_is_the_master_datum(desk, shop):
    machine = factories.MachineFactory(shop=shop)
    said = {"name": "headstock spindle", "kind": "headstock", "plane": "0"}
    desk.post(reverse("alignment:new_station", args=[machine.pk]), said)
    assert machine.stations.get().datum is None


def test_a_station_is_checked_one_place_earlier(desk, machine):
    back = station_of(machine, "back tools")
    gang = station_of(machine, "gang tools")
    desk.post(reverse("alignment:move_station", args=[gang.pk]), {"to": "up"})
    assert names(machine)[3:] == [gang.name, back.name]


def test_no_station_is_checked_before_its_datum(machine):
    sub = station_of(machine, "sub-spindle")
    with pytest.raises(Refused, match="measured from the guide bushing housing"):
        move_station(sub, up=True)
    with pytest.raises(Refused, match="measured from the guide bushing housing"):
        move_station(station_of(machine, "guide bushing"), up=False)


def test_the_last_station_stays_where_it_is(machine):
    before = names(machine)
    move_station(station_of(machine, "gang tools"), up=False)
    assert names(machine) == before


def test_a_station_that_was_never_measured_is_taken_off(machine):
    turret = add_station(machine, guessed("turret"))
    assert end_station(turret) is False
    assert not Station.objects.filter(name="turret").exists()


def test_a_station_that_was_measured_is_ended_and_its_figures_stay(
    desk, machine, sweep_of, contractor
):
    gang = station_of(machine, "gang tools")
    check = sweep_of(factories.item_of(machine, "gang tools"))
    desk.post(reverse("alignment:end_station", args=[gang.pk]))
    gang.refresh_from_db()
    assert gang.ended_on is not None
    assert gang.name not in names(machine)
    assert gang.pk not in {state.station.pk for state in chain_at(machine)}
    assert "no longer on the machine" in desk.get(check.item.get_absolute_url()).text
    assert desk.get(check.get_absolute_url()).status_code == 200


def test_a_name_is_free_again_once_its_station_was_ended(machine):
    gang = station_of(machine, "gang tools")
    end_station(gang)
    assert add_station(machine, guessed(gang.name)).position == 5


def test_a_datum_of_others_is_not_ended(machine):
    with pytest.raises(Refused, match="back tool station is measured from the sub-spindle"):
        end_station(station_of(machine, "sub-spindle"))


def test_an_ended_station_is_ended_once(machine):
    gang = station_of(machine, "gang tools")
    end_station(gang)
    with pytest.raises(Refused, match="ended already"):
        end_station(gang)


# ---------- a sheet begun before the stations


def test_the_lines_of_a_sheet_make_the_stations(desk, shop):
    machine = factories.MachineFactory(shop=shop)
    text = (
        "station,what is measured,upper limit\n"
        "sub-spindle,bore,0.015\n"
        "guide bushing housing,bore,0.010\n"
        "guide bushing housing,TIR,0.020\n"
    )
    said = {"name": "factory sheet", "unit": "mm", "in_force": "on", "text": text}
    address = reverse("alignment:import_sheet", args=[machine.pk])
    assert "makes the station" in desk.post(address, said).text
    assert not machine.stations.exists()
    desk.post(address, said | {"bring_in": "yes"})
    chain = {one.name: one.datum and one.datum.name for one in machine.stations.all()}
    assert chain == {
        "headstock spindle": None,
        "guide bushing housing": "headstock spindle",
        "sub-spindle": "guide bushing housing",
    }
    assert names(machine) == list(chain)


def test_a_typed_line_may_name_a_station_that_is_not_there_yet(desk, shop):
    machine = factories.MachineFactory(shop=shop)
    said = {
        "name": "factory sheet", "in_force": "on",
        "lines-TOTAL_FORMS": "1", "lines-INITIAL_FORMS": "0",
        "lines-0-new_station": "headstock spindle", "lines-0-name": "run-out",
        "lines-0-quantity": "tir", "lines-0-surface": "bore", "lines-0-upper": "0.005",
    }  # fmt: skip
    desk.post(reverse("alignment:new_sheet", args=[machine.pk]), said)
    assert AcceptanceSheet.objects.get().items.get().station.name == "headstock spindle"
    assert names(machine) == ["headstock spindle"]


def test_on_a_machine_with_stations_an_unknown_name_is_a_slip_unless_told_otherwise(desk, machine):
    text = "station,what is measured,upper limit\ntooling plate,height,0.015\n"
    said = {"name": "second", "unit": "mm", "text": text, "bring_in": "yes"}
    address = reverse("alignment:import_sheet", args=[machine.pk])
    assert "There is no station" in desk.post(address, said).text
    desk.post(address, said | {"make_stations": "on"})
    assert "tooling plate" in names(machine)


@pytest.mark.parametrize(
    ("name", "kind", "datum"),
    [
        ("Guide bushing housing", "guide bushing", "headstock"),
        ("sub spindle", "sub-spindle", "headstock"),
        ("rear plate", "other", "headstock"),
    ],
)
def test_a_name_lets_expect_the_kind_and_the_datum(shop, name, kind, datum):
    machine = factories.MachineFactory(shop=shop)
    made = stations_named(machine, [name])[name]
    assert (made.kind, made.datum.kind) == (kind, datum)
