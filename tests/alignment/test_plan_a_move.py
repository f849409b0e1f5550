"""A station's move: planned in the units of the hand, foretold on the dial, held against the next
sweep."""

from dataclasses import replace
from decimal import Decimal

import pytest
from django.urls import reverse

from alignment.adjusting.models import AdjustingWay
from alignment.adjusting.moves import outcome_of, planned_move
from alignment.adjusting.services import drop_way, record_adjustment, set_way
from alignment.sheets.models import AcceptanceItem
from alignment.sweeps.models import Adjustment, Check
from alignment.sweeps.services import save_check
from shop.audit.actor import acting
from tests import factories

HOUSING = "guide bushing"


@pytest.fixture
def housing(machine):
    station = factories.station_of(machine, HOUSING)
    set_way(station, AdjustingWay(kind="shift", note="Ease the four bolts."))
    return station


def swept(visit, machine, contractor, right_um, up_um, phase="as found", kind=HOUSING):
    return save_check(
        visit=visit,
        item=factories.item_of(machine, kind),
        phase=phase,
        sweep=factories.typed_sweep(right_um, up_um),
        made_by=contractor,
    )


def adjust_page(client, user, visit, station, data=None):
    client.force_login(user)
    url = reverse("alignment:adjust", args=[visit.pk, station.pk])
    return client.get(url) if data is None else client.post(url, data)


def test_a_free_shift_goes_the_opposite_way_of_the_offset(visit, machine, contractor, housing):
    swept(visit, machine, contractor, 20, -10)
    step = planned_move(visit, housing, "um").plans[0].move.steps[0]
    assert (step.front_um, step.up_um) == pytest.approx((-20, 10), abs=1e-6)


def test_a_station_that_holds_the_indicator_moves_the_way_its_datum_stands_off(
    visit, machine, contractor
):
    station = factories.station_of(machine, "sub-spindle")
    station.indicator_in = "station"
    station.save()
    set_way(station, AdjustingWay(kind="shift"))
    swept(visit, machine, contractor, 20, -10, kind="sub-spindle")
    step = planned_move(visit, station, "um").plans[0].move.steps[0]
    assert (step.front_um, step.up_um) == pytest.approx((20, -10), abs=1e-6)


@pytest.mark.parametrize("holder", ["datum", "station"])
def test_after_a_move_to_no_offset_the_dial_stands_still_all_round(
    visit, machine, contractor, housing, holder
):
    housing.indicator_in = holder
    housing.save()
    swept(visit, machine, contractor, 20, -10)
    move = planned_move(visit, housing, "um")
    ((_plan, dial),) = move.rows
    after = [row.after_um for row in dial.rows]
    assert max(after) - min(after) == pytest.approx(0, abs=1e-6)
    assert max(row.now_um for row in dial.rows) - min(row.now_um for row in dial.rows) > 30


def test_nothing_is_planned_before_the_station_was_swept_at_this_visit(visit, housing):
    assert planned_move(visit, housing, "mm") is None


def test_the_page_says_to_sweep_first(client, visit, machine, contractor, housing):
    assert (
        "Not swept at this visit yet"
        in adjust_page(client, contractor, visit, housing).content.decode()
    )


def test_the_page_gives_the_move_and_the_dial_in_the_persons_unit(
    client, visit, machine, contractor, housing
):
    swept(visit, machine, contractor, 20, 0)
    page = adjust_page(client, contractor, visit, housing).content.decode()
    assert "Shift the casting" in page
    assert "0.0200 mm to the rear" in page


def test_a_move_made_as_planned_keeps_what_was_foretold(
    client, visit, machine, contractor, housing
):
    check = swept(visit, machine, contractor, 20, 0)
    way = housing.ways.get()
    adjust_page(client, contractor, visit, housing, {"what": "tapped over", "way": way.pk})
    adjustment = Adjustment.objects.get()
    assert adjustment.planned_from == check
    assert adjustment.foretold_front_um == pytest.approx(0, abs=1e-9)


def as_planned(visit, machine, contractor, housing, client, *, left_at):
    swept(visit, machine, contractor, 20, 0)
    data = {"what": "tapped over", "way": housing.ways.get().pk}
    adjust_page(client, contractor, visit, housing, data)
    return outcome_of(swept(visit, machine, contractor, left_at, 0, phase="as left"))


def test_a_sweep_where_it_was_foretold_agrees(client, visit, machine, contractor, housing):
    outcome = as_planned(visit, machine, contractor, housing, client, left_at=0.2)
    assert outcome.result.agrees


def test_a_casting_that_gave_under_the_bolts_does_not_agree(
    client, visit, machine, contractor, housing
):
    outcome = as_planned(visit, machine, contractor, housing, client, left_at=9)
    assert outcome.result.agrees is False
    assert outcome.result.miss_um == pytest.approx(9, abs=1e-6)


def test_a_move_that_went_the_wrong_way_says_so(client, visit, machine, contractor, housing):
    outcome = as_planned(visit, machine, contractor, housing, client, left_at=40)
    assert outcome.result.wrong_way
    check = Check.objects.get(phase="as left")
    page = client.get(check.get_absolute_url()).content.decode()
    assert "went the wrong way" in page


def test_a_move_that_was_not_planned_foretells_nothing(visit, machine, contractor, housing):
    swept(visit, machine, contractor, 20, 0)
    record_adjustment(visit=visit, station=housing, what="by feel", made_by=contractor)
    assert outcome_of(swept(visit, machine, contractor, 1, 0, phase="as left")) is None


def tilt_swept(visit, machine, contractor, near_um, far_um, apart_mm=80):
    """The housing's bore swept near and far; its tilt follows from the two centres."""
    item = AcceptanceItem.objects.create(
        sheet=machine.sheets.get(is_current=True),
        station=factories.station_of(machine, HOUSING),
        position=60,
        name="bore, tilt",
        quantity="tilt",
        surface="bore",
        upper_um=Decimal(10),
    )
    planes = [
        replace(factories.typed_sweep(right, 0), z_mm=Decimal(z))
        for right, z in ((near_um, 0), (far_um, apart_mm))
    ]
    save_check(visit=visit, item=item, phase="as found", sweeps=planes, made_by=contractor)


def test_screws_are_not_turned_before_the_tilt_was_measured(visit, machine, contractor):
    station = factories.station_of(machine, HOUSING)
    set_way(station, AdjustingWay(kind="screws", settings=SCREWS))
    swept(visit, machine, contractor, 20, 0)
    (plan,) = planned_move(visit, station, "mm").plans
    assert plan.move is None
    assert "Sweep it near and far first" in plan.problem


def test_screws_take_out_the_tilt_that_was_measured(visit, machine, contractor):
    """8 µm right in 80 mm is 10 µm per 100 mm. Screws at 3 and 9 o'clock on a radius of 50 mm
    rise or fall by 5 µm, against the mean; a pitch of 1 mm is 2.78 µm a degree: 1.8°, turned 2°."""
    station = factories.station_of(machine, HOUSING)
    set_way(station, AdjustingWay(kind="screws", settings=SCREWS))
    swept(visit, machine, contractor, 20, 0)
    tilt_swept(visit, machine, contractor, 0, 8)
    (plan,) = planned_move(visit, station, "mm").plans
    turns = {step.angle_deg: step.turn_deg for step in plan.move.steps}
    assert {angle: abs(turn) for angle, turn in turns.items()} == {0: 0, 90: 2, 180: 0, 270: 2}
    assert turns[90] == -turns[270]
    assert plan.move.after.slope_front_um_per_100mm == pytest.approx(-1.11, abs=0.01)


SCREWS = {"radius_mm": 50, "angles_deg": [0, 90, 180, 270], "pitch_mm": 1}

WAYS = {
    "shift": {"note": ""},
    "screws": {
        "radius_mm": "60",
        "angles_deg": "0, 120, 240",
        "pitch_mm": "1",
        "clockwise_pushes": "towards the headstock",
        "plane_mm": "0",
    },
    "shims": {
        "feet": "near 0, far 180",
        "stock": "0.01 mm, .001 in",
        "pushes": "up",
        "most_shims": 2,
    },
    "control": {
        "front_axis": "X1",
        "front_sign": "1",
        "front_on": "diameter",
        "up_axis": "",
        "up_sign": "1",
        "up_on": "radius",
        "step": "0.001 mm",
    },
}


@pytest.mark.parametrize("kind", WAYS)
def test_each_way_of_adjusting_goes_on_record_and_plans_a_move(
    client, visit, machine, contractor, kind
):
    station = factories.station_of(machine, HOUSING)
    if not machine.axes.filter(name="X1").exists():
        factories.AxisFactory(machine=machine, name="X1")
    client.force_login(contractor)
    response = client.post(reverse("alignment:way", args=[station.pk, kind]), WAYS[kind])
    assert response.status_code == 302
    swept(visit, machine, contractor, 20, -30)
    tilt_swept(visit, machine, contractor, 0, 8)
    (plan,) = planned_move(visit, station, "mm").plans
    assert plan.problem == ""
    assert plan.steps


IN_INCHES = [
    ("screws", {"radius_mm": "2.5", "pitch_mm": ".05", "plane_mm": "-1"}, "radius_mm", 63.5),
    ("screws", {"radius_mm": "60 mm", "pitch_mm": ".05", "plane_mm": "-1"}, "plane_mm", -25.4),
    ("shims", {"feet": "near 0, far 7"}, "feet", {"near": 0, "far": 177.8}),
    ("shims", {"feet": "near 0, far 180 mm"}, "feet", {"near": 0, "far": 180}),
    ("shims", {"stock": ".001, .002"}, "stock_um", [25.4, 50.8]),
]


@pytest.mark.parametrize(("kind", "typed", "name", "kept"), IN_INCHES)
def test_a_bare_length_of_a_way_is_in_the_person_s_unit(
    client, machine, contractor, kind, typed, name, kept
):
    """1 in is 25.4 mm exactly."""
    contractor.length_unit = "in"
    contractor.save()
    station = factories.station_of(machine, HOUSING)
    client.force_login(contractor)
    client.post(reverse("alignment:way", args=[station.pk, kind]), WAYS[kind] | typed)
    assert station.ways.get(kind=kind).settings[name] == pytest.approx(kept)


BAD = [
    ("screws", {"angles_deg": "0, 0, 0"}, "three different places"),
    ("screws", {"angles_deg": "0, left"}, "row of numbers"),
    ("screws", {"pitch_mm": "0"}, "pitch"),
    ("shims", {"feet": "near"}, "distance"),
    ("shims", {"stock": "thick"}, "thick"),
    ("control", {"front_axis": ""}, "No axis"),
    ("control", {"step": "0 mm"}, "increment"),
]


@pytest.mark.parametrize(("kind", "change", "said"), BAD)
def test_a_way_that_plans_nothing_is_refused_with_the_reason(
    client, machine, contractor, kind, change, said
):
    station = factories.station_of(machine, HOUSING)
    client.force_login(contractor)
    url = reverse("alignment:way", args=[station.pk, kind])
    page = client.post(url, WAYS[kind] | change).content.decode()
    assert said in page
    assert not station.ways.exists()


def test_an_operator_reads_the_ways_but_does_not_set_them(client, machine, operator):
    station = factories.station_of(machine, HOUSING)
    client.force_login(operator)
    assert client.get(reverse("alignment:ways", args=[station.pk])).status_code == 200
    assert client.get(reverse("alignment:way", args=[station.pk, "shift"])).status_code == 403


def test_a_station_of_another_shop_has_no_ways(client, machine, stranger):
    station = factories.station_of(machine, HOUSING)
    client.force_login(stranger)
    assert client.get(reverse("alignment:ways", args=[station.pk])).status_code == 404


def test_a_way_can_be_taken_off_the_record(client, machine, contractor, housing):
    client.force_login(contractor)
    client.post(reverse("alignment:drop_way", args=[housing.pk, "shift"]))
    assert not housing.ways.exists()


@pytest.fixture
def noted_by_owner(housing, owner):
    """Notes the owner's own words on the way of adjusting, when called."""

    def note():
        with acting(who=owner.pk):
            set_way(housing, AdjustingWay(kind="shift", note="Four bolts, crosswise."))

    return note


def test_the_second_of_two_who_enter_a_way_is_told_and_may_send_it_again(
    client, contractor, owner, housing, noted_by_owner
):
    client.force_login(contractor)
    url = reverse("alignment:way", args=[housing.pk, "shift"])
    page = client.get(url)
    noted_by_owner()
    typed = {"note": "Two bolts.", "version": page.context["form"]["version"].value()}

    told = client.post(url, typed)

    assert f"{owner.name} changed" in told.text
    assert "to Four bolts, crosswise." in told.text
    assert housing.ways.get().note == "Four bolts, crosswise."
    client.post(url, typed | {"version": told.context["form"]["version"].value()})
    assert housing.ways.get().note == "Two bolts."


def test_a_way_that_was_taken_off_meanwhile_does_not_come_back_unasked(
    client, contractor, owner, housing
):
    client.force_login(contractor)
    url = reverse("alignment:way", args=[housing.pk, "shift"])
    page = client.get(url)
    with acting(who=owner.pk):
        drop_way(housing, "shift")

    version = page.context["form"]["version"].value()
    told = client.post(url, {"note": "Two bolts.", "version": version})

    assert f"{owner.name} removed" in told.text
    assert not housing.ways.exists()


def test_a_way_that_was_changed_meanwhile_is_not_taken_off_unseen(
    client, contractor, owner, housing, noted_by_owner
):
    client.force_login(contractor)
    page = client.get(reverse("alignment:ways", args=[housing.pk]))
    version = page.context["to_drop"]["version"].value()
    noted_by_owner()
    drop = reverse("alignment:drop_way", args=[housing.pk, "shift"])

    told = client.post(drop, {"version": version})

    assert "Still on record." in told.text
    assert "Four bolts, crosswise." in told.text
    assert housing.ways.exists()
    client.post(drop, {"version": told.context["to_drop"]["version"].value()})
    assert not housing.ways.exists()
