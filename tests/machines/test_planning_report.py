"""Meters and planned work in the service report, read back from the PDF."""

from decimal import Decimal

import pytest
from django.utils import timezone

from machines.drive.inspecting import inspect_belt
from machines.planning.plans import make_plan, mark_done, skip
from machines.visit_work.services import read_meter
from shop.visits.reporting import build_report
from tests import factories
from tests.papers import words_of


@pytest.fixture
def text_of(visit):
    def text():
        visit.refresh_from_db()
        return words_of(build_report(visit))

    return text


def plan_for(machine, user, what, **fields):
    return make_plan(
        shop=machine.shop, machine=machine, made_by=user, what=what, weeks=1,
        starts_on=factories.today(), **fields,
    )  # fmt: skip


def test_a_meter_read_at_the_visit_stands_in_the_report(visit, machine, contractor, text_of):
    read_meter(
        machine=machine, visit=visit, made_by=contractor, value=Decimal("12345.5"),
        read_at=timezone.now(),
    )  # fmt: skip
    assert "12,345.5 on" in text_of()


def test_work_done_and_skipped_stands_in_the_report(visit, machine, contractor, text_of):
    oil = plan_for(machine, contractor, "way oil", kind="lubrication")
    filters = plan_for(machine, contractor, "filter", kind="other")
    mark_done(oil, machine, made_by=contractor, visit=visit)
    skip(filters, machine, made_by=contractor, reason="no spare", visit=visit)
    text = text_of()
    assert "Way oil done" in text
    assert "Filter skipped: no spare" in text


def test_a_belt_looked_at_stands_as_done_before_the_signature(visit, machine, contractor, text_of):
    belt = machine.belts.first()
    plan_for(machine, contractor, "belt look", kind="belt", subjects=[belt.name])
    inspect_belt(belt=belt, visit=visit, made_by=contractor, teeth={})
    assert "Belt look done" in text_of()


def test_a_visit_without_planned_work_says_nothing_of_it(visit, text_of):
    assert "Planned work" not in text_of()
