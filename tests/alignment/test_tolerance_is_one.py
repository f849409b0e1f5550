"""One line of a sheet, one tolerance: the first look, the chain's culprit, the hints, the picture.

A sheet that lets the sub-spindle stand from 5 µm rear to 20 µm front lets it stand 5 µm off where
the way is not known.
"""

from dataclasses import replace
from decimal import Decimal

import pytest
from django.urls import reverse

from alignment.adjusting.positions import placed_chain
from alignment.sweeps.pictures import sweep_figure
from alignment.sweeps.services import save_check
from machines.incidents.first_look import first_look
from tests import factories


@pytest.fixture
def item(machine):
    item = factories.item_of(machine, "sub-spindle")
    item.quantity, item.lower_um, item.upper_um = "front", Decimal(-5), Decimal(20)
    item.save()
    return item


@pytest.fixture
def check(visit, item, contractor):
    def make(right_um, sag_um=0):
        sweep = replace(factories.typed_sweep(right_um), sag_um=Decimal(sag_um))
        return save_check(visit=visit, item=item, phase="as found", sweep=sweep, made_by=contractor)

    return make


@pytest.mark.parametrize(("off_um", "grade"), [("4", "inside"), ("8", "several times")])
def test_the_first_look_holds_what_was_seen_against_it(machine, item, off_um, grade):
    incident = factories.IncidentFactory(machine=machine, offset_seen_um=Decimal(off_um))
    incident.stations_hit.create(station=item.station)
    assert first_look(incident).grade.startswith(grade)


@pytest.mark.parametrize(("right_um", "moved"), [(-4, False), (-8, True)])
def test_the_chain_looks_for_what_moved_beyond_it(
    visit, machine, contractor, check, right_um, moved
):
    save_check(
        visit=visit, item=factories.item_of(machine, "guide bushing"), phase="as found",
        sweep=factories.typed_sweep(), made_by=contractor,
    )  # fmt: skip
    check(right_um)
    assert bool(placed_chain(machine, visit).culprits) is moved


@pytest.mark.parametrize(("sag_um", "warned"), [(4, False), (8, True)])
def test_the_page_of_a_check_holds_the_sag_against_it(client, contractor, check, sag_um, warned):
    client.force_login(contractor)
    found = check(1, sag_um=sag_um)
    page = client.get(reverse("alignment:check", args=[found.pk])).content.decode()
    assert ("is more than the tolerance of" in page) is warned


def test_the_circle_of_a_tir_is_what_the_first_look_holds_against(machine):
    """A TIR of 5 µm lets the axis stand 2.5 µm off."""
    item = factories.item_of(machine, "headstock")
    figure = sweep_figure(item, "um")
    incident = factories.IncidentFactory(machine=machine, offset_seen_um=Decimal("2.6"))
    incident.stations_hit.create(station=item.station)
    assert figure.tolerance_um == 2.5
    assert first_look(incident).grade != "inside tolerance"
