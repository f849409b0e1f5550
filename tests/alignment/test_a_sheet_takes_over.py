"""What was measured under a former sheet, or from a former line of a station, still tells where a
station stands: chain, pages, drift and positions say the same of it."""

from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from alignment.adjusting.positions import placed_chain
from alignment.drift.estimates import drift_of
from alignment.register.station_services import begin_new_line
from alignment.sheets.loops import close_loop
from alignment.sheets.services import put_in_force
from alignment.sweeps.chain_view import chain_at
from alignment.sweeps.comparison import last_left
from alignment.sweeps.states import state_of_item
from tests.alignment.conftest import sweep_url
from tests.factories import AcceptanceSheetFactory, VisitFactory, item_of, station_of


@pytest.fixture
def bore(machine):
    return item_of(machine, "guide bushing")


@pytest.fixture
def new_sheet(machine):
    """Puts in force a sheet with the housing's line alone, to an upper limit in µm."""

    def make(line, upper_um=None, **said):
        sheet = AcceptanceSheetFactory(machine=machine, name="after rebuild", is_current=False)
        line = type(line).objects.get(pk=line.pk)
        line.pk, line.sheet = None, sheet
        for name, value in ({"upper_um": upper_um or line.upper_um} | said).items():
            setattr(line, name, value)
        line._state.adding = True
        line.save()
        put_in_force(sheet)
        return line

    return make


def said_of(item):
    """The word for a line on the chain, on its page, by its drift and on the page of positions."""
    machine = item.station.machine
    chain = {one.item: one for state in chain_at(machine) for one in state.items}
    drifts = {one.item: one for one in drift_of(machine, until=timezone.now())}
    placed = {one.station.pk: one for one in placed_chain(machine).stations}
    return {
        chain[item].state.word,
        state_of_item(item)[1].word,
        drifts[item].series.state.word,
        placed[item.station_id].state.word,
    }


def test_a_check_under_the_former_sheet_goes_on_telling(bore, sweep_of, new_sheet):
    check = sweep_of(bore, 3)
    line = new_sheet(bore)
    assert said_of(line) == {"within"}
    assert state_of_item(line)[0] == check


def test_it_is_held_to_what_the_new_sheet_allows(bore, sweep_of, new_sheet):
    check = sweep_of(bore, 5)
    assert said_of(bore) == {"within"}
    assert said_of(new_sheet(bore, Decimal(2))) == {"outside"}
    check.refresh_from_db()
    assert check.verdict == "within"  # what was signed, or is to be, stays


def test_called_otherwise_it_is_the_same_line(bore, sweep_of, new_sheet):
    sweep_of(bore, 3)
    assert said_of(new_sheet(bore, name="axis to the spindle")) == {"within"}


def test_another_figure_of_the_station_is_not_measured_yet(bore, sweep_of, new_sheet):
    sweep_of(bore, 3)
    line = new_sheet(bore, quantity="tir")
    chain = {one.item: one for state in chain_at(line.station.machine) for one in state.items}
    assert {chain[line].state.word, state_of_item(line)[1].word} == {"not measured"}


def test_moved_since_it_is_stale_under_the_new_sheet_too(bore, sweep_of, new_sheet, moved):
    sweep_of(bore, 3)
    moved("guide bushing")
    assert said_of(new_sheet(bore)) == {"stale"}


def test_the_next_sweep_has_it_beside(
    bore, sweep_of, new_sheet, taken_up, signed, contractor, client
):
    check = sweep_of(bore, 3)
    signed(taken_up)
    later = VisitFactory(shop=taken_up.shop, firm=taken_up.firm, contractor=contractor)
    line = new_sheet(bore)
    assert last_left(line, later) == check
    client.force_login(contractor)
    assert "Last left" in client.get(sweep_url(later, line)).text


@pytest.fixture
def direct(machine):
    """The sub-spindle swept from the housing's own datum, the headstock."""
    return close_loop(
        station=station_of(machine, "sub-spindle"),
        measured_from=station_of(machine, "headstock"),
        indicator_in="datum",
        look="from the headstock",
        plane_mm=0.0,
        surface="bore",
        upper_um=Decimal(30),
    )


@pytest.mark.parametrize("is_signed", [False, True])
def test_a_loop_goes_on_from_the_new_line_of_a_station(
    direct, sweep_of, machine, taken_up, signed, is_signed
):
    for kind, right_um in (("guide bushing", 10), ("sub-spindle", -4)):
        sweep_of(item_of(machine, kind), right_um)
    sweep_of(direct, 6)
    if is_signed:
        signed(taken_up)
    new = begin_new_line(station_of(machine, "headstock"), plane_mm=5.0)
    lines = [one for state in chain_at(machine) for one in state.items if one.item.closes_a_loop]
    assert [one.item.measured_from for one in lines] == [new]
    assert lines[0].state.word == "within"
    assert [check.item.name for check, _closure in placed_chain(machine).closures] == [direct.name]


def test_a_loop_is_offered_from_the_stations_that_are_there(
    direct, client, contractor, taken_up, machine
):
    begin_new_line(station_of(machine, "gang tools"), plane_mm=5.0)
    client.force_login(contractor)
    sub = station_of(machine, "sub-spindle")
    page = client.get(reverse("alignment:close_loop", args=[taken_up.pk, sub.pk]))
    offered = page.context["form"].fields["measured_from"].queryset
    assert all(one.ended_on is None for one in offered)
    assert len(offered) == 3


def test_a_signed_visit_keeps_the_verdict_it_was_signed_with(
    bore, sweep_of, new_sheet, taken_up, signed, machine
):
    check = sweep_of(bore, 5)
    signed(taken_up)
    line = new_sheet(bore, Decimal(2))
    taken_up.refresh_from_db()
    (told,) = [one for state in chain_at(machine, taken_up) for one in state.items]
    assert (told.item, told.as_found, told.state.word) == (line, check, "within")
    assert said_of(line) == {"outside"}
