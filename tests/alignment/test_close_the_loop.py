"""A station swept from another one than its datum: held against the sum of the links."""

import pytest
from django.urls import reverse

from alignment.models import AcceptanceItem, Check
from alignment.placing import placed_chain
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
