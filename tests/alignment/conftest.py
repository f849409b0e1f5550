"""What the tests of the alignment pages share: somebody at work, an item, a way to send a sweep."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from alignment.adjusting.services import record_adjustment
from alignment.incidents.services import log_incident_at
from alignment.sweeps.services import save_check
from machines.visit_work.services import add_machine_to_visit
from shop.visits.services import note_come_back, sign_visit
from tests.factories import item_of, station_of, typed_sweep

NAMES = {"contractor": ("Ida M.", "service"), "customer": ("Tom Q.", "owner")}


@pytest.fixture
def at_work(client, contractor):
    """A browser in which the contractor is signed in."""
    client.force_login(contractor)
    return client


@pytest.fixture
def bore(machine):
    """The guide bushing's bore to the headstock axis: an offset of at most 10 µm."""
    return item_of(machine, "guide bushing")


@pytest.fixture
def taken_up(visit, machine):
    """The visit, with the machine taken up at it."""
    add_machine_to_visit(visit, machine)
    visit.refresh_from_db()
    return visit


@pytest.fixture
def sweep_of(taken_up, contractor):
    """Saves a sweep of an item that shows a centre at (right, up) in µm."""

    def save(item, right_um=3.0, up_um=0.0, phase="as found", **more):
        sweep = more.pop("sweep", None) or typed_sweep(right_um, up_um, surface=item.surface)
        given = {"visit": taken_up, "made_by": contractor} | more
        return save_check(item=item, phase=phase, sweep=sweep, **given)

    return save


@pytest.fixture
def moved(taken_up, machine, contractor):
    """Records that the station of a kind was moved at the visit."""

    def record(kind="guide bushing", **more):
        given = {"visit": taken_up, "what": "tapped over", "made_by": contractor} | more
        return record_adjustment(station=station_of(machine, kind), **given)

    return record


@pytest.fixture
def crash(machine, operator):
    """Logs that something hit stations; none: nobody knows what."""

    def log(*kinds, **more):
        given = {"happened_at": timezone.now() - timedelta(minutes=5), "may_run": True}
        stations = [station_of(machine, kind) for kind in kinds]
        given |= {"machine": machine, "made_by": operator, "stations": stations}
        return log_incident_at(**(given | more))

    return log


@pytest.fixture
def signed():
    """Signs a visit whatever it lacks."""

    def sign(visit, **more):
        note_come_back(visit, "the rest, next time")
        return sign_visit(visit, **NAMES, **more)

    return sign


def sweep_url(visit, item, name="sweep", **query):
    return reverse(f"alignment:{name}", args=[visit.pk, item.pk], query=query or None)


def typed(readings, *, angles=None, **said):
    """What a browser sends for readings typed into the boxes.

    angles: the texts of the angles where they are the person's own.
    """
    layout = "own" if angles else str(len(readings))
    data = {
        "phase": "as found",
        "unit": "mm",
        "layout": layout,
        "surface": "bore",
        "sag_on": "bore",
        "sag": "",
        "lever": "",
        "reading_u": "0.0005",
        "note": "",
        "readings-TOTAL_FORMS": len(readings),
        "readings-INITIAL_FORMS": 0,
    }
    for index, reading in enumerate(readings):
        data[f"readings-{index}-reading"] = reading
        if angles:
            data[f"readings-{index}-angle"] = angles[index]
    return data | said
