"""Planned work done at visits: wanted, done by what was recorded, and closed by the signature."""

from datetime import timedelta

import pytest
from django.urls import reverse

from alignment.adjusting.services import record_adjustment
from alignment.sheets.models import AcceptanceItem
from alignment.sweeps.services import save_check
from machines.drive.inspecting import inspect_belt
from machines.drive.models import Bearing, BearingInspection
from machines.drive.services import inspect_bearing
from machines.planning.board import find_item
from machines.planning.models import PlanClosing
from machines.planning.plans import make_plan, mark_done, reopen_plan, want_at
from machines.planning.signing_blockers import wanted_work_left_open
from shop.visits.services import sign_visit
from shop.web.errors import Refused
from tests.factories import (
    FirmFactory,
    MembershipFactory,
    item_of,
    station_of,
    today,
    typed_sweep,
)

pytestmark = pytest.mark.usefixtures("nothing_missing")


def plan_for(machine, user, **fields):
    given = {"what": "planned", "starts_on": today() - timedelta(days=400)}
    return make_plan(shop=machine.shop, machine=machine, made_by=user, **(given | fields))


def sweep(visit, item, contractor):
    return save_check(
        visit=visit, item=item, phase="as found", sweep=typed_sweep(1, 1), made_by=contractor
    )


def sign(visit):
    return sign_visit(visit, contractor=("A", "service"), customer=("B", "owner"))


def test_a_station_checked_at_a_visit_sets_the_next_day_by_itself(visit, machine, contractor):
    plan = plan_for(
        machine, contractor, kind="alignment check", months=6, subjects=["guide bushing housing"]
    )
    check = sweep(visit, item_of(machine, "guide bushing"), contractor)
    sign(visit)
    closing = PlanClosing.objects.get()
    assert (closing.plan, closing.visit, closing.counted_from) == (plan, visit, check.made_at)
    assert find_item(plan, machine).due.on > today() + timedelta(days=180)


def test_a_plan_of_two_stations_waits_for_both(visit, machine, contractor):
    plan_for(
        machine,
        contractor,
        kind="alignment check",
        months=6,
        subjects=["guide bushing housing", "sub-spindle"],
    )
    sweep(visit, item_of(machine, "guide bushing"), contractor)
    sign(visit)
    assert not PlanClosing.objects.exists()


def test_a_plan_of_the_whole_chain_waits_for_every_station(visit, machine, contractor):
    plan_for(machine, contractor, kind="alignment check", months=6)
    items = list(AcceptanceItem.objects.filter(sheet__machine=machine))
    for item in items[:-2]:
        sweep(visit, item, contractor)
    sign(visit)
    assert not PlanClosing.objects.exists()


def test_every_station_checked_closes_the_whole_chain(visit, machine, contractor):
    plan_for(machine, contractor, kind="alignment check", months=6)
    for item in AcceptanceItem.objects.filter(sheet__machine=machine):
        sweep(visit, item, contractor)
    sign(visit)
    assert PlanClosing.objects.get().outcome == "done"


def test_a_belt_looked_at_closes_its_own_plan_and_no_other(visit, machine, contractor):
    first, second = machine.belts.all()
    plans = [
        plan_for(machine, contractor, kind="belt", months=6, subjects=[belt.name])
        for belt in (first, second)
    ]
    inspect_belt(belt=first, visit=visit, made_by=contractor, teeth={})
    sign(visit)
    assert PlanClosing.objects.get().plan == plans[0]


def test_a_bearing_looked_at_closes_its_plan(visit, machine, contractor):
    bearing = Bearing.objects.create(machine=machine, name="housing, front")
    plan = plan_for(machine, contractor, kind="bearing", months=6, subjects=[bearing.name])
    feel = BearingInspection.Feel.values[0]
    inspect_bearing(bearing=bearing, visit=visit, made_by=contractor, feel=feel)
    sign(visit)
    assert PlanClosing.objects.get().plan == plan


def test_lubrication_is_closed_by_whoever_marks_it_done(visit, machine, contractor):
    plan = plan_for(machine, contractor, kind="lubrication", weeks=1)
    inspect_belt(belt=machine.belts.first(), visit=visit, made_by=contractor, teeth={})
    mark_done(plan, machine, made_by=contractor, visit=visit)
    sign(visit)
    assert PlanClosing.objects.get().plan == plan


def test_what_was_marked_done_at_the_visit_is_not_closed_twice(visit, machine, contractor):
    belt = machine.belts.first()
    plan = plan_for(machine, contractor, kind="belt", months=6, subjects=[belt.name])
    inspect_belt(belt=belt, visit=visit, made_by=contractor, teeth={})
    mark_done(plan, machine, made_by=contractor, visit=visit)
    sign(visit)
    assert PlanClosing.objects.count() == 1


def test_a_closing_signed_with_its_visit_is_not_taken_back(visit, machine, contractor):
    plan = plan_for(machine, contractor, kind="lubrication", weeks=1)
    closing = mark_done(plan, machine, made_by=contractor, visit=visit)
    sign(visit)
    with pytest.raises(Refused, match="signed"):
        reopen_plan(closing, by=contractor)


def test_another_firm_takes_back_nothing_that_was_entered_at_a_visit(
    client, visit, machine, contractor, owner
):
    plan = plan_for(machine, contractor, kind="lubrication", weeks=1)
    closing = mark_done(plan, machine, made_by=contractor, visit=visit)
    other = MembershipFactory(shop=machine.shop, role="contractor", firm=FirmFactory()).user
    address = reverse("machines:reopen_plan", args=[closing.pk])
    client.force_login(other)
    assert client.post(address).status_code == 403
    client.force_login(owner)
    assert client.post(address).status_code == 302
    closing.refresh_from_db()
    assert closing.taken_back_at is not None


def test_wanted_work_left_open_is_lacking(visit, machine, contractor):
    plan = plan_for(machine, contractor, kind="lubrication", weeks=1)
    want_at(visit, [(plan, machine)])
    (lack,) = wanted_work_left_open(visit)
    assert "neither done nor skipped" in lack.sentence


def test_wanted_work_that_was_recorded_lacks_no_more(visit, machine, contractor):
    belt = machine.belts.first()
    plan = plan_for(machine, contractor, kind="belt", months=6, subjects=[belt.name])
    want_at(visit, [(plan, machine)])
    inspect_belt(belt=belt, visit=visit, made_by=contractor, teeth={})
    assert wanted_work_left_open(visit) == []


def test_the_visit_s_page_shows_what_is_due_and_what_closes_with_it(
    client, visit, machine, contractor
):
    belt = machine.belts.first()
    plan_for(machine, contractor, what="Belt look", kind="belt", months=6, subjects=[belt.name])
    plan_for(machine, contractor, what="Way oil", kind="lubrication", weeks=1)
    inspect_belt(belt=belt, visit=visit, made_by=contractor, teeth={})
    client.force_login(contractor)
    page = client.get(reverse("shop:visit", args=[visit.pk])).content.decode()
    assert "it closes when the visit is signed" in page
    assert "Way oil" in page


class TestWhatThePlansTextAsksFor:
    """'The whole chain' is every line of the sheet, measured since the last move."""

    def plan(self, machine, contractor):
        return plan_for(machine, contractor, kind="alignment check", months=6)

    def sweep_all(self, visit, machine, contractor):
        for item in AcceptanceItem.objects.filter(sheet__machine=machine):
            sweep(visit, item, contractor)

    def test_a_station_moved_and_not_swept_again_leaves_the_chain_open(
        self, visit, machine, contractor
    ):
        self.plan(machine, contractor)
        self.sweep_all(visit, machine, contractor)
        station = station_of(machine, "gang tools")
        record_adjustment(visit=visit, station=station, what="tapped", made_by=contractor)
        sign(visit)
        assert not PlanClosing.objects.exists()

    def test_one_line_of_a_station_is_not_the_station(self, visit, machine, contractor):
        self.plan(machine, contractor)
        item = item_of(machine, "guide bushing")
        self.sweep_all(visit, machine, contractor)
        AcceptanceItem.objects.create(
            sheet=item.sheet, station=item.station, position=99, name="second bore"
        )
        sign(visit)
        assert not PlanClosing.objects.exists()

    def test_marking_it_done_asks_why_something_was_left_out_and_keeps_which(
        self, visit, machine, contractor
    ):
        plan = self.plan(machine, contractor)
        sweep(visit, item_of(machine, "guide bushing"), contractor)
        with pytest.raises(Refused, match=r"Left out: .*sub-spindle"):
            mark_done(plan, machine, made_by=contractor, visit=visit)
        closing = mark_done(plan, machine, made_by=contractor, visit=visit, note="No power.")
        assert closing.note.startswith("No power. Left out: ")
        assert "sub-spindle" in closing.note
