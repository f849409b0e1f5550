"""Checks that were kept with a dial's signs, before directions were told of the station."""

from decimal import Decimal

import pytest

from alignment.sheets import formatting
from alignment.sheets.models import AcceptanceItem
from alignment.sweeps.models import Check
from tests import factories


@pytest.fixture
def kept(machine, sweep_of):
    """A check of how far the sub-spindle stands sideways, 4 µm to the right in the dial of an
    indicator that sits in the datum and looks back: 4 µm to the rear."""
    station = factories.station_of(machine, "sub-spindle")
    type(station).objects.filter(pk=station.pk).update(look="to the headstock")
    item = AcceptanceItem.objects.create(
        sheet=machine.sheets.get(),
        station=station,
        position=70,
        name="sideways",
        quantity="front",
        lower_um=Decimal(-9),
        upper_um=Decimal(2),
    )
    check = sweep_of(item, 4, 0)
    Check.objects.filter(pk=check.pk).update(
        view="dial", value_um=4.0, lower_um=Decimal(-2), upper_um=Decimal(9)
    )
    return Check.objects.get(pk=check.pk)


def test_its_figure_and_its_limits_are_told_of_the_station(kept):
    assert kept.told_um == pytest.approx(-4)
    assert kept.limits_um == (-9, 2)
    assert formatting.limits(kept, "um") == "at most 9 µm to the rear or 2 µm to the front"
    assert kept.stands_um == pytest.approx((-4, 0))


def test_its_page_says_once_that_directions_are_told_anew(at_work, kept):
    page = at_work.get(kept.get_absolute_url()).text
    assert page.count("In the machine’s frame since this version") == 1
    assert "0.004 mm to the front" in page or "0.0040 mm to the front" in page


def test_a_check_of_today_keeps_the_frame_s_signs_and_needs_no_such_word(at_work, sweep_of, bore):
    check = sweep_of(bore, 3, 0)
    assert check.view == Check.View.FRAME
    assert "since this version" not in at_work.get(check.get_absolute_url()).text
