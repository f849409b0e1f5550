"""What a service report asks the database for: once each, however much there is to tell."""

import io

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from pypdf import PdfReader

from alignment.adjusting.services import record_adjustment
from machines.drive.inspecting import inspect_belt
from machines.visit_work.services import add_machine_to_visit
from shop.paper.issuing import CheckMark
from shop.visits.reporting import build_report, report_writer
from tests import factories
from tests.alignment.drifting import day, seen

MARK = CheckMark("https://sweepbook.example/check/3F9A-21C7", "3F9A-21C7")


@pytest.fixture
def work_on(taken_up, sweep_of, contractor):
    """Has every belt of a machine looked at, and stations found, moved and left, as a year ago."""

    def work(machine, *stations):
        add_machine_to_visit(taken_up, machine)
        items = [factories.item_of(machine, kind) for kind in stations]
        for item in items:
            seen(item, 400, (4, 0), (1, 0))
            sweep_of(item, 5)
        for item in items:
            record_adjustment(
                visit=taken_up, station=item.station, what="set over", made_by=contractor
            )
            sweep_of(item, 1, phase="as left")
        for belt in machine.belts.all():
            look = {"belt": belt, "made_by": contractor}
            inspect_belt(**look, teeth={3: "marked"}, made_at=day(400))
            inspect_belt(**look, teeth={3: "worn"}, visit=taken_up)
        taken_up.refresh_from_db()

    return work


def printed(pdf):
    return " ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)


def test_many_machines_take_as_many_queries_as_one(
    taken_up, machine, work_on, django_assert_max_num_queries
):
    work_on(machine, "guide bushing")
    with django_assert_max_num_queries(70) as few:
        build_report(taken_up)
    for number in ("M2", "M3"):
        other = factories.five_station_machine(machine.shop, number=number)
        work_on(other, "guide bushing", "sub-spindle", "back tools")
    with django_assert_max_num_queries(len(few)):
        pdf = build_report(taken_up)
    assert "Drift of machine M3" in printed(pdf)


def test_made_again_with_its_code_it_is_not_gathered_again(taken_up, machine, work_on):
    work_on(machine, "guide bushing")
    write = report_writer(taken_up)
    with CaptureQueriesContext(connection) as first:
        without = write(None)
    with CaptureQueriesContext(connection) as second:
        marked = write(MARK)
    assert len(second) < len(first) / 2
    assert MARK.code in printed(marked)
    assert write(None) == without
