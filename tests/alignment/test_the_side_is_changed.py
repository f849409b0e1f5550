"""Another headstock's side, holder or look: open checks are weighed anew, signed ones keep it."""

import html

import pytest
from django.urls import reverse

from alignment.adjusting.services import record_adjustment
from alignment.geometry.adjust.move import Place
from alignment.register.station_services import change_machine, set_up_station
from alignment.sweeps.measuring import worked_out
from alignment.sweeps.models import Check
from shop.web.errors import Refused
from tests.alignment.conftest import sweep_url
from tests.alignment.test_bar_face_and_flat import bar
from tests.factories import AcceptanceItemFactory, station_of
from tests.fuzz.pages import Page


@pytest.fixture
def front(machine):
    """A line of the housing that allows 5 µm to the rear and 20 to the front."""
    return AcceptanceItemFactory(
        sheet=machine.sheets.get(), station=station_of(machine, "guide bushing"), position=20,
        name="to the front", quantity="front", lower_um=-5, upper_um=20,
    )  # fmt: skip


@pytest.fixture
def check(front, sweep_of):
    """10 µm to the right, looking away from a headstock on the left: to the front."""
    return sweep_of(front, 10, 0)


def told(check):
    check = Check.objects.select_related("item__station__machine").get(pk=check.pk)
    # What is stored is what its readings come to by the setting as it is.
    measured = worked_out(check)
    assert (check.value_um, check.verdict) == (pytest.approx(measured.value_um), measured.verdict)
    return round(check.told_um, 3), check.verdict, tuple(map(float, check.limits_um))


def test_a_headstock_on_the_other_side_turns_the_figure_and_the_verdict(check, machine):
    assert told(check) == (10, "within", (-5, 20))
    change_machine(machine, headstock_side="right")
    assert told(check) == (-10, "outside", (-5, 20))


def test_set_back_all_is_as_it_was(check, machine):
    change_machine(machine, headstock_side="right")
    change_machine(machine, headstock_side="left")
    assert told(check) == (10, "within", (-5, 20))


@pytest.mark.parametrize(
    ("said", "value_um"),
    [
        ({"look": "to the headstock"}, -10),
        ({"indicator_in": "station"}, -10),
        ({"indicator_in": "station", "look": "to the headstock"}, 10),
    ],
)
def test_another_holder_or_look_turns_it_too(check, front, said, value_um):
    set_up_station(front.station, **said)
    assert told(check)[0] == value_um
    assert told(check)[1] == ("within" if value_um > 0 else "outside")


def test_one_kept_with_the_dials_signs_is_told_of_the_station_from_then_on(check, front):
    Check.objects.filter(pk=check.pk).update(view="dial")
    set_up_station(front.station, look="to the headstock")
    assert told(check) == (-10, "outside", (-5, 20))


def test_a_bar_read_at_the_front_still_leans_to_the_front(machine, front, at_work, taken_up):
    item = AcceptanceItemFactory(
        sheet=front.sheet, station=front.station, position=21, name="along the bar",
        quantity="tilt front", surface="bar", per_mm=100, lower_um=-50, upper_um=50,
    )  # fmt: skip
    at_work.post(sweep_url(taken_up, item), bar(("0", "0", "0"), ("100", "0", "0.008")))
    check = Check.objects.get(item=item)
    figure, hand = check.told_um, check.right_um
    change_machine(machine, headstock_side="right")
    assert told(check)[0] == pytest.approx(figure)
    check.refresh_from_db()
    # Its front is at the other hand of the dial now.
    assert check.right_um == pytest.approx(-hand)
    assert abs(hand) == pytest.approx(8)


def test_once_a_check_is_signed_the_side_stays(check, machine, taken_up, signed):
    signed(taken_up)
    with pytest.raises(Refused, match="stays on the left"):
        change_machine(machine, headstock_side="right")
    assert told(check) == (10, "within", (-5, 20))


def test_its_name_may_be_changed_all_the_same(check, machine, taken_up, signed):
    signed(taken_up)
    assert change_machine(machine, name="Lathe by the door").name == "Lathe by the door"


def changed_on_its_page(client, machine, **typed):
    url = reverse("alignment:change_machine", args=[machine.pk])
    page = Page(url, client.get(url).text)
    form = next(one for one in page.forms if "headstock_side" in one.names)
    return client.post(form.action, form.filled_in() | typed)


def test_the_page_says_why_and_keeps_what_was_typed(at_work, check, machine, taken_up, signed):
    signed(taken_up)
    page = changed_on_its_page(at_work, machine, headstock_side="right", name="By the door")
    assert "stays on the left" in html.unescape(page.text)
    assert 'value="By the door"' in page.text
    before = machine.name
    machine.refresh_from_db()
    assert (machine.headstock_side, machine.name) == ("left", before)


def test_the_page_turns_it_before_anything_is_signed(at_work, check, machine):
    assert changed_on_its_page(at_work, machine, headstock_side="right").status_code == 302
    assert told(check)[0] == -10


def test_the_admin_leaves_the_side_alone(admin_client, machine):
    page = admin_client.get(reverse("admin:machines_machine_change", args=[machine.pk]))
    assert 'name="headstock_side"' not in page.text
    assert 'name="number"' in page.text


@pytest.fixture
def moved_as_planned(front, sweep_of, taken_up, contractor, clock):
    """The housing shifted by a plan from a sweep of it, and swept again."""
    found = sweep_of(front, 10, 0)
    moved = record_adjustment(
        visit=taken_up, station=front.station, what="tapped over", by_way="by free shift",
        planned_from=found, foretold=Place(0.0, 0.0, 0.0, 0.0), made_by=contractor,
    )  # fmt: skip
    sweep_of(front, 1, 0, phase="as left")
    return moved


def test_a_move_planned_in_the_wrong_view_is_to_be_redone(moved_as_planned, front, at_work):
    left = Check.objects.get(phase="as left")
    assert "The move did what was planned" in at_work.get(left.get_absolute_url()).text
    set_up_station(front.station, look="to the headstock")
    for url in (left.get_absolute_url(), left.visit.get_absolute_url()):
        page = " ".join(at_work.get(url).text.split())
        assert "sweep the station again and plan the move anew" in page
    assert "The move did what was planned" not in at_work.get(left.get_absolute_url()).text


def test_another_name_leaves_a_planned_move_as_it_is(moved_as_planned, front):
    set_up_station(front.station, name="bushing holder")
    moved_as_planned.refresh_from_db()
    assert moved_as_planned.what_now == ""
