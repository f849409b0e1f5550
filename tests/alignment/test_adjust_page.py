"""Recording that a station was moved, and saying what that makes stale."""

import uuid
from decimal import Decimal

import pytest
from django.urls import reverse

from alignment.adjusting.models import AdjustingWay
from alignment.adjusting.services import set_way
from alignment.sweeps.chain_view import chain_at
from alignment.sweeps.models import Adjustment
from tests.factories import station_of

from .conftest import sweep_url


@pytest.fixture
def page(taken_up, machine):
    return lambda kind="guide bushing": reverse(
        "alignment:adjust", args=[taken_up.pk, station_of(machine, kind).pk]
    )


@pytest.fixture
def record(at_work, page):
    def post(kind="guide bushing", **said):
        given = {"what": "tapped over with the brass drift", "front": "", "up": ""}
        return at_work.post(page(kind), given | said)

    return post


def test_what_was_done_is_recorded_with_how_far(record, contractor, machine):
    record(front="-1.2 thou", up="0.02")
    adjustment = Adjustment.objects.get()
    assert adjustment.station == station_of(machine, "guide bushing")
    assert (adjustment.what, adjustment.made_by) == ("tapped over with the brass drift", contractor)
    assert (float(adjustment.front_um), float(adjustment.up_um)) == (-30.48, 20.0)


def test_how_far_may_be_left_open(record):
    record()
    adjustment = Adjustment.objects.get()
    assert (adjustment.front_um, adjustment.up_um) == (None, None)


def test_it_leads_to_the_sweep_as_left_of_what_was_moved(record, taken_up, bore):
    assert record().url == sweep_url(taken_up, bore, phase="as left")


def test_what_is_measured_from_it_is_stale_afterwards(record, sweep_of, machine, taken_up):
    for item in machine.sheets.get().items.all():
        sweep_of(item)
    record("sub-spindle")
    stale = [state.station.kind for state in chain_at(machine, taken_up) if state.is_stale]
    assert stale == ["sub-spindle", "back tools"]


def test_the_page_names_what_turns_stale(at_work, page):
    states = at_work.get(page("guide bushing")).context["lost"]
    kinds = [state.station.kind for state in states]
    assert kinds == ["guide bushing", "sub-spindle", "gang tools"]


def test_the_page_warns_of_what_was_not_measured_as_found(at_work, page):
    assert "Sweep it as found first" in at_work.get(page()).text


def test_nothing_is_warned_of_once_all_was_measured(at_work, page, sweep_of, machine):
    for item in machine.sheets.get().items.all():
        sweep_of(item)
    assert "Sweep it as found first" not in at_work.get(page()).text


def test_the_jack_screws_are_named_at_the_guide_bushing_only(at_work, page):
    assert "never hammered out" in at_work.get(page("guide bushing")).text
    assert "never hammered out" not in at_work.get(page("sub-spindle")).text


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("what", "", "required"),
        ("front", "two thou", "does not start with a number"),
        ("up", "1 km", "is not a unit used here"),
        ("up", "80 mm", "longest length taken here"),
    ],
)
def test_a_wrong_entry_is_refused_at_its_field_and_stays_typed(record, field, typed, said):
    response = record(**{field: typed})
    assert said in response.context["form"].errors[field][0]
    assert typed in response.text
    assert not Adjustment.objects.exists()


def test_a_form_sent_twice_makes_one_adjustment(record):
    entry_id = str(uuid.uuid4())
    record(entry_id=entry_id)
    record(entry_id=entry_id)
    assert Adjustment.objects.count() == 1


def test_a_signed_visit_takes_none(record, taken_up, signed):
    signed(taken_up)
    assert "no longer changes" in record().text
    assert not Adjustment.objects.exists()


@pytest.fixture
def limits_in_inches(machine):
    """0.0004 in is 10.16 µm exactly, which no sheet in millimetres would state."""
    machine.sheets.get().items.update(upper_um=Decimal("10.16"), lower_um=None)


def test_the_page_is_in_the_unit_of_the_sheet_whoever_looks(
    at_work, page, limits_in_inches, contractor, sweep_of, bore
):
    """The person works in mm; the sheet was stated in inches."""
    assert contractor.length_unit != "in"
    sweep_of(bore)
    shown = at_work.get(page())
    assert shown.context["unit"] == "in"
    assert "mm" not in shown.context["to_go"]


def test_the_switch_shows_the_other_unit(at_work, page, limits_in_inches):
    assert at_work.get(page(), {"unit": "mm"}).context["unit"] == "mm"


def test_a_bare_number_is_in_the_unit_that_was_shown(at_work, page, limits_in_inches):
    at_work.post(page(), {"what": "tapped over", "front": ".001", "up": ""})
    assert float(Adjustment.objects.get().front_um) == 25.4


def test_one_way_is_told_whole_and_the_others_in_a_line(at_work, page, machine, sweep_of, bore):
    """Only the first way's steps lie open; each other way is folded under its own name."""
    station = station_of(machine, "guide bushing")
    set_way(station, AdjustingWay(kind="shift"))
    set_way(station, AdjustingWay(kind="control", settings={"front": {"letter": "X1"}}))
    sweep_of(bore)
    text = at_work.get(page()).text
    first, second = station.ways.all()
    assert f"<h3>By {first}</h3>" in text
    assert f"<summary>By {second}</summary>" in text
    assert text.index("What to do") < text.index("Before it is moved")
