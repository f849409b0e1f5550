"""Adjustments, what they make stale, and the stations an incident hit."""

import uuid
from decimal import Decimal

import pytest
from django.utils import timezone

from alignment.adjusting.services import record_adjustment
from alignment.incidents.services import log_incident_at
from alignment.sheets.models import AcceptanceItem
from alignment.sweeps.chain_view import chain_at
from alignment.sweeps.models import Adjustment
from alignment.sweeps.services import save_check
from machines.incidents.models import Incident, IncidentStation
from shop.web.errors import Refused
from tests import factories
from tests.factories import item_of, station_of, typed_sweep

# The housing, and what is measured from it.
DOWNSTREAM = {"guide bushing", "sub-spindle", "gang tools"}


@pytest.fixture
def measured(visit, machine, contractor):
    """A visit at which every item was swept as found."""
    for item in AcceptanceItem.objects.filter(sheet__machine=machine):
        save_check(
            visit=visit,
            item=item,
            phase="as found",
            sweep=typed_sweep(2, 1, surface=item.surface),
            made_by=contractor,
        )
    return visit


@pytest.fixture
def move(visit, machine, contractor):
    """Records that the station of a kind was moved."""
    return lambda kind, **more: record_adjustment(
        **{
            "visit": visit,
            "station": station_of(machine, kind),
            "what": "tapped with a brass drift",
            "made_by": contractor,
            **more,
        }
    )


def stale_kinds(machine, visit):
    return {state.station.kind for state in chain_at(machine, visit) if state.is_stale}


def test_nothing_is_stale_after_everything_was_swept(measured, machine):
    assert stale_kinds(machine, measured) == set()


@pytest.mark.parametrize(
    ("moved", "stale"),
    [
        ("headstock", {"headstock", "guide bushing"}),
        ("guide bushing", DOWNSTREAM),
        ("sub-spindle", {"sub-spindle", "back tools"}),
        ("back tools", {"back tools"}),
        ("gang tools", {"gang tools"}),
    ],
)
def test_moving_a_station_makes_it_and_what_is_measured_from_it_stale(
    measured, machine, move, moved, stale
):
    move(moved)
    assert stale_kinds(machine, measured) == stale


def test_a_station_says_which_adjustment_it_waits_for(measured, machine, move):
    move("guide bushing")
    states = {state.station.kind: state for state in chain_at(machine, measured)}
    assert [s.kind for s in states["sub-spindle"].again.moved] == ["guide bushing"]


def test_a_station_measured_again_is_no_longer_stale(measured, machine, move, contractor):
    move("guide bushing")
    save_check(
        visit=measured,
        item=item_of(machine, "guide bushing"),
        phase="as left",
        sweep=typed_sweep(1, 0),
        made_by=contractor,
    )
    assert stale_kinds(machine, measured) == DOWNSTREAM - {"guide bushing"}


def test_the_move_is_kept_with_what_was_done(move):
    adjustment = move("guide bushing", front_um=Decimal("-12.7"), up_um=Decimal("0.0254"))
    adjustment.refresh_from_db()
    assert (adjustment.front_um, adjustment.up_um) == (Decimal("-12.7"), Decimal("0.0254"))


def test_an_adjustment_sent_twice_is_one_adjustment(move):
    entry_id = uuid.uuid4()
    assert move("sub-spindle", entry_id=entry_id) == move("sub-spindle", entry_id=entry_id)
    assert Adjustment.objects.count() == 1


def test_a_station_in_another_shop_is_not_adjusted_at_this_visit(move):
    elsewhere = factories.five_station_machine(number="X1")
    with pytest.raises(Refused, match="another shop"):
        move("sub-spindle", station=station_of(elsewhere, "sub-spindle"))
    assert not Adjustment.objects.exists()


def account(machine, operator, **more):
    return {
        "machine": machine,
        "made_by": operator,
        "happened_at": timezone.now(),
        "what_hit": "cut-off blade",
        "hit_what": "sub-spindle collet",
        "severity": Incident.Severity.KNOCK,
        "may_run": True,
        **more,
    }


def test_the_stations_hit_are_kept_with_the_incident(machine, operator):
    hit = [station_of(machine, "gang tools"), station_of(machine, "sub-spindle")]
    incident = log_incident_at(**account(machine, operator), stations=hit)
    assert {link.station for link in incident.stations_hit.all()} == set(hit)


def test_a_station_of_another_machine_was_not_hit_here(machine, operator, shop):
    other = factories.five_station_machine(shop, number="M2")
    with pytest.raises(Refused, match="another machine"):
        log_incident_at(**account(machine, operator), stations=[station_of(other, "sub-spindle")])
    assert not Incident.objects.exists()


def test_an_incident_sent_twice_names_each_station_once(machine, operator):
    told = account(machine, operator, entry_id=uuid.uuid4())
    for _ in range(2):
        log_incident_at(**told, stations=[station_of(machine, "sub-spindle")])
    assert IncidentStation.objects.count() == 1
