"""How a station is measured is chosen by picture, and changed only until a signed check rests on
it; then a new line is begun."""

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from alignment.adjusting.services import record_adjustment
from alignment.register.station_form import StationForm
from alignment.register.station_services import begin_new_line, set_up_station
from alignment.sheets.setup import USUAL, usual_setup
from alignment.sweeps.chain_view import chain_at
from machines.register.models import Station
from shop.web.errors import Refused
from tests import factories
from tests.factories import item_of, station_of

Holder, Look = Station.Holder, Station.Look


def form_for(machine, station=None, unit="mm", **said):
    """A form as a browser sends it: what is on record, and what is said over that."""
    blank = StationForm(machine=machine, station=station, unit=unit)
    sent = {name: "" if value is None else value for name, value in blank.initial.items()}
    return StationForm(sent | said, machine=machine, station=station, unit=unit)


@pytest.fixture
def housing(machine):
    return station_of(machine, "guide bushing")


@pytest.fixture
def signed_housing(housing, taken_up, sweep_of, signed):
    sweep_of(item_of(housing.machine, "guide bushing"))
    signed(taken_up)
    return housing


def new_station(machine, **said):
    datum = station_of(machine, "headstock").pk
    return form_for(machine, **({"name": "turret", "kind": "turret", "datum": datum} | said))


def test_left_open_a_station_is_set_up_as_usual_for_its_kind(machine):
    form = new_station(machine, name="second sub", kind="sub-spindle", plane="180")
    assert form.is_valid(), form.errors
    assert form.said()["indicator_in"] == Holder.STATION
    assert form.said()["look"] == Look.TO_HEADSTOCK


def test_the_sub_spindle_alone_holds_the_indicator_itself():
    # Common practice, no source: as the demo's chain is swept.
    assert [kind for kind in Station.Kind if USUAL[kind].indicator_in == Holder.STATION] == [
        Station.Kind.SUB_SPINDLE
    ]


@pytest.mark.parametrize("kind", [kind for kind in Station.Kind if kind != "other"])
def test_what_contradicts_the_kind_is_asked_and_then_taken(machine, kind):
    other_way = {Look.FROM_HEADSTOCK: Look.TO_HEADSTOCK, Look.TO_HEADSTOCK: Look.FROM_HEADSTOCK}
    said = {"name": "new", "kind": kind, "plane": "10", "look": other_way[usual_setup(kind).look]}
    asked = new_station(machine, **said)
    assert not asked.is_valid()
    assert list(asked.errors) == ["as_drawn"]
    assert new_station(machine, **said, as_drawn="on").is_valid()


def test_a_station_of_no_kind_is_never_asked(machine):
    form = new_station(machine, kind="other", look=Look.TO_HEADSTOCK, plane="10")
    assert form.is_valid(), form.errors


@pytest.mark.parametrize(
    ("unit", "typed", "mm"),
    [
        ("mm", "120", 120.0),
        ("in", "4.75", 120.65),
        ("in", "4.75 in", 120.65),
        ("in", "120 mm", 120.0),
        ("mm", "4.75 in", 120.65),
        ("um", "120", 120.0),
    ],
)
def test_a_plane_counts_in_the_unit_at_its_box(machine, unit, typed, mm):
    # 1 in = 25.4 mm exactly (international yard and pound agreement of 1959; from memory).
    form = new_station(machine, unit=unit, plane=typed)
    assert form.is_valid(), form.errors
    assert form.said()["plane_mm"] == mm


def test_a_plane_behind_the_headstock_is_refused(machine):
    form = new_station(machine, plane="-1")
    assert "behind the headstock" in form.errors["plane"][0]


def test_the_database_refuses_a_plane_behind_the_headstock(housing):
    with pytest.raises(IntegrityError), transaction.atomic():
        Station.objects.filter(pk=housing.pk).update(plane_mm=-1)


def test_two_stations_of_one_name_are_refused_however_written(machine):
    form = new_station(machine, name="  Guide  Bushing HOUSING", plane="10")
    assert "has a station called" in form.errors["name"][0]


def test_a_second_master_datum_is_refused(machine):
    form = new_station(machine, datum="", plane="10")
    assert "master datum already" in form.errors["datum"][0]


def test_a_station_is_not_measured_from_what_is_measured_from_it(housing):
    below = station_of(housing.machine, "back tools")
    assert "datum" in form_for(housing.machine, housing, datum=below.pk).errors


@pytest.mark.parametrize("unit", ["mm", "in", "um"])
@pytest.mark.parametrize("plane_mm", [0.0, 120.0, 4.7244, 0.1 + 0.2, 1999.99999])
def test_saving_what_was_not_touched_changes_nothing(housing, plane_mm, unit):
    housing.plane_mm = plane_mm
    form = form_for(housing.machine, housing, unit=unit)
    assert form.is_valid(), form.errors
    assert form.said()["plane_mm"] == plane_mm


def test_before_anything_is_signed_a_station_is_set_up_anew(housing, sweep_of):
    sweep_of(item_of(housing.machine, "guide bushing"))
    set_up_station(housing, plane_mm=95.0, look=Look.TO_HEADSTOCK)
    housing.refresh_from_db()
    assert (housing.plane_mm, housing.look) == (95.0, Look.TO_HEADSTOCK)


def test_a_signed_check_keeps_the_setting_it_rests_on(signed_housing):
    with pytest.raises(Refused, match="Signed checks rest on"):
        set_up_station(signed_housing, plane_mm=95.0)
    with pytest.raises(IntegrityError), transaction.atomic():
        Station.objects.filter(pk=signed_housing.pk).update(look=Look.TO_HEADSTOCK)


def test_its_name_may_still_be_changed(signed_housing):
    set_up_station(signed_housing, name="bushing casting", how="as ever")
    signed_housing.refresh_from_db()
    assert signed_housing.name == "bushing casting"


def test_a_new_line_takes_the_old_ones_place_and_the_old_keeps_its_history(signed_housing):
    machine = signed_housing.machine
    new = begin_new_line(signed_housing, plane_mm=95.0)
    old = Station.objects.get(pk=signed_housing.pk)
    assert old.ended_on is not None
    assert (new.follows, new.name, new.position) == (old, old.name, old.position)
    assert station_of(machine, "sub-spindle").datum == new
    assert old.items.get(name=item_of(machine, "guide bushing").name).checks.count() == 1
    state = next(one for one in chain_at(machine) if one.station.kind == "guide bushing")
    assert state.station == new
    assert [one.item.name for one in state.items] == [
        one.name for one in old.items.order_by("position")
    ]
    assert all(one.newest is None for one in state.items)


def test_a_signed_visit_goes_on_showing_the_line_it_measured(signed_housing, taken_up):
    begin_new_line(signed_housing, plane_mm=95.0)
    taken_up.refresh_from_db()
    housing = chain_at(signed_housing.machine, taken_up)[1]
    assert housing.station == signed_housing
    assert housing.items[0].as_found
    assert len(chain_at(signed_housing.machine, taken_up)) == 5


def test_a_line_ends_once(signed_housing):
    begin_new_line(signed_housing, plane_mm=95.0)
    with pytest.raises(Refused, match="was ended"):
        begin_new_line(signed_housing, plane_mm=90.0)


def test_the_page_asks_before_it_begins_a_new_line(at_work, signed_housing):
    url = reverse("alignment:edit_station", args=[signed_housing.pk])
    page = at_work.get(url)
    sent = {name: value or "" for name, value in page.context["form"].initial.items()}
    sent["plane"] = "95 mm"
    asked = at_work.post(url, sent)
    assert "Tick here to begin a new line" in asked.content.decode()
    assert not hasattr(Station.objects.get(pk=signed_housing.pk), "followed_by")
    done = at_work.post(url, sent | {"begin_anew": "on"})
    assert done.status_code == 302
    assert Station.objects.get(pk=signed_housing.pk).followed_by.plane_mm == 95.0


def test_each_choice_has_its_drawing_and_its_words(at_work, housing):
    page = at_work.get(reverse("alignment:edit_station", args=[housing.pk])).content.decode()
    for choice in ("in-datum", "in-station", "away", "towards"):
        url = reverse("alignment:setup_picture", query={"choice": choice})
        assert f'src="{url}"' in page
        drawn = at_work.get(url)
        assert drawn["Content-Type"] == "image/svg+xml"
        assert "<desc" in drawn.content.decode()


def test_a_drawing_of_nothing_is_not_found(at_work):
    url = reverse("alignment:setup_picture", query={"choice": "sideways"})
    assert at_work.get(url).status_code == 404


def test_a_line_is_not_ended_while_a_visit_measures_it(housing, sweep_of):
    sweep_of(item_of(housing.machine, "guide bushing"))
    with pytest.raises(Refused, match="Sign it first"):
        begin_new_line(housing, plane_mm=95.0)


def test_an_ended_line_is_neither_swept_nor_moved(signed_housing, shop, firm, contractor, sweep_of):
    item = item_of(signed_housing.machine, "guide bushing")
    begin_new_line(signed_housing, plane_mm=95.0)
    item.station.refresh_from_db()
    later = factories.VisitFactory(shop=shop, firm=firm, contractor=contractor)
    with pytest.raises(Refused, match="was ended"):
        sweep_of(item, visit=later)
    with pytest.raises(Refused, match="was ended"):
        record_adjustment(visit=later, station=item.station, what="over", made_by=contractor)
