"""A station swept from another one than its datum: held against the sum of the links."""

import pytest
from django.urls import reverse
from django.utils import timezone

from alignment.adjusting.positions import placed_chain
from alignment.sheets.models import AcceptanceItem
from alignment.sweeps.chain_view import chain_at
from alignment.sweeps.models import Check
from alignment.sweeps.states import state_of_item
from shop.web.errors import Refused
from tests import factories


@pytest.fixture
def direct(at_work, taken_up, machine):
    """The line on which the sub-spindle is swept from the headstock, entered on its page."""
    station = factories.station_of(machine, "sub-spindle")
    url = reverse("alignment:close_loop", args=[taken_up.pk, station.pk])
    entry = {
        "measured_from": factories.station_of(machine, "headstock").pk,
        "indicator_in": "datum",
        "look": "from the headstock",
        "plane_mm": "0",
        "surface": "bore",
        "upper": "0.03",
    }
    answer = at_work.post(url, entry)
    item = AcceptanceItem.objects.get(measured_from__isnull=False)
    assert answer.url == reverse("alignment:sweep", args=[taken_up.pk, item.pk])
    return item


@pytest.fixture
def swept(sweep_of, machine):
    """Sweeps the links: the housing 10 to the right, the sub-spindle 4 to the left of it."""
    for kind, right_um in (("guide bushing", 10), ("sub-spindle", -4)):
        sweep_of(factories.item_of(machine, kind), right_um, 0)


def test_links_that_close_say_so_and_share_out_the_gap(swept, direct, sweep_of, machine):
    sweep_of(direct, 6.3, 0)
    chain = placed_chain(machine)
    ((_check, closure),) = chain.closures
    assert closure.front_um == pytest.approx(0.3, abs=1e-6)
    assert closure.closes
    sub = next(one for one in chain.stations if one.station.kind == "sub-spindle")
    # Two links of one variance against one: the direct sweep counts two thirds.
    assert sub.front_um == pytest.approx(6.2, abs=1e-6)


def test_links_that_do_not_close_ask_for_another_sweep(at_work, swept, direct, sweep_of, machine):
    sweep_of(direct, 30, 0)
    page = at_work.get(reverse("alignment:placed", args=[machine.pk])).text
    assert "The links do not close: sweep again." in page
    assert "24.0" in page or "0.0240 mm to the front" in page


def test_without_another_sweep_positions_are_the_plain_sum(swept, machine):
    chain = placed_chain(machine)
    assert chain.closures == ()
    sub = next(one for one in chain.stations if one.station.kind == "sub-spindle")
    assert sub.front_um == pytest.approx(6, abs=1e-6)


def test_a_sweep_that_closes_a_loop_plans_no_move(swept, direct, sweep_of):
    check = sweep_of(direct, 30, 0)
    assert check not in Check.objects.of_offsets()


def test_a_loop_to_its_own_datum_is_not_offered(at_work, taken_up, machine):
    station = factories.station_of(machine, "sub-spindle")
    page = at_work.get(reverse("alignment:close_loop", args=[taken_up.pk, station.pk]))
    offered = {one.kind for one in page.context["form"].fields["measured_from"].queryset}
    assert offered == {"headstock", "back tools", "gang tools"}


def test_a_plane_behind_the_headstock_is_refused(at_work, taken_up, machine):
    station = factories.station_of(machine, "sub-spindle")
    url = reverse("alignment:close_loop", args=[taken_up.pk, station.pk])
    assert "behind the headstock" in at_work.post(url, {"plane_mm": "-5"}).text


class TestWhatItIsWorth:
    """By what it was measured from, not by the datum of its station."""

    @pytest.mark.parametrize(
        ("kind", "word"),
        [("headstock", "stale"), ("sub-spindle", "stale"), ("guide bushing", "within")],
    )
    def test_it_is_stale_once_an_end_of_it_was_moved(self, direct, sweep_of, moved, kind, word):
        sweep_of(direct, 3, 0)
        moved(kind)
        assert state_of_item(direct)[1].word == word

    @pytest.mark.parametrize(("kind", "before"), [("headstock", True), ("guide bushing", False)])
    def test_it_is_from_before_the_crash_that_hit_an_end_of_it(
        self, direct, sweep_of, crash, kind, before
    ):
        sweep_of(direct, 3, 0)
        crash(kind, happened_at=timezone.now())
        assert state_of_item(direct)[1].is_before_a_crash == before

    def test_the_chain_of_the_visit_says_the_same(self, direct, sweep_of, moved, taken_up, machine):
        sweep_of(direct, 3, 0)
        moved("guide bushing")
        states = {one.item: one for state in chain_at(machine, taken_up) for one in state.items}
        assert states[direct].state.counts
        assert states[factories.item_of(machine, "sub-spindle")].moved_here

    def test_moving_the_headstock_lists_it_among_what_is_lost(
        self, at_work, direct, taken_up, machine
    ):
        assert self.lost(at_work, direct, taken_up, "headstock")
        assert not self.lost(at_work, direct, taken_up, "guide bushing")

    def lost(self, at_work, direct, visit, kind):
        station = factories.station_of(direct.station.machine, kind)
        page = at_work.get(reverse("alignment:adjust", args=[visit.pk, station.pk]))
        return direct in {one.item for one in page.context["never_found"]}

    def test_as_found_is_too_late_once_what_it_is_measured_from_was_moved(
        self, direct, sweep_of, moved
    ):
        moved("guide bushing")
        assert sweep_of(direct, 3, 0).phase == "as found"
        moved("headstock")
        with pytest.raises(Refused, match="no longer 'as found'"):
            sweep_of(direct, 3, 0)

    def test_one_that_no_longer_counts_is_not_held_against_the_links(
        self, swept, direct, sweep_of, moved, machine
    ):
        sweep_of(direct, 30, 0)
        assert placed_chain(machine).closures
        moved("headstock")
        assert placed_chain(machine).closures == ()


def test_by_a_link_that_was_moved_since_nobody_can_tell_whether_they_close(
    at_work, swept, direct, sweep_of, moved, machine
):
    sweep_of(direct, 30, 0)
    moved("guide bushing")
    chain = placed_chain(machine)
    assert chain.closures == ()
    ((_check, weak),) = chain.unclosed
    assert [one.station.kind for one in weak] == ["sub-spindle", "guide bushing"]
    page = " ".join(at_work.get(reverse("alignment:placed", args=[machine.pk])).text.split())
    assert "cannot be told:" in page
    assert "The links do not close" not in page
