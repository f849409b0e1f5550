"""What the alignment of a visit lacks before it can be signed."""

import pytest
from django.urls import reverse

from alignment.incidents.services import log_incident_at
from alignment.sweeps.signing_blockers import stations_not_settled
from machines.visit_work.services import add_machine_to_visit
from shop.visits.services import correct_visit
from tests.factories import VisitFactory, at, five_station_machine, item_of, station_of

from .conftest import sweep_url


@pytest.fixture
def lacking(taken_up):
    return lambda visit=taken_up: [lack.sentence for lack in stations_not_settled(visit)]


def test_a_visit_at_which_nothing_was_measured_or_moved_lacks_nothing(lacking):
    assert lacking() == []


def test_what_was_found_within_and_not_moved_is_settled(lacking, sweep_of, bore):
    sweep_of(bore, 3, 0)
    assert lacking() == []


def test_what_was_found_outside_and_left_so_is_not_settled(lacking, sweep_of, bore):
    sweep_of(bore, 40, 0)
    assert lacking() == [
        "M1, guide bushing housing: bore to the headstock axis: left outside its limits"
    ]


def test_what_is_not_proven_is_the_report_s_to_tell(lacking, sweep_of, bore):
    sweep_of(bore, 10, 0)
    assert lacking() == []


def test_what_was_moved_must_be_measured_again_with_all_that_is_measured_from_it(
    lacking, sweep_of, moved, machine
):
    for item in machine.sheets.get().items.all():
        sweep_of(item, 1, 0)
    moved("sub-spindle")
    assert lacking() == [
        "M1, sub-spindle: bore to the guide bushing: not measured since the sub-spindle was moved",
        "M1, back tool station: tool bore to the sub-spindle: "
        "not measured since the sub-spindle was moved",
    ]


def test_what_was_never_measured_is_asked_for_too_once_its_datum_was_moved(lacking, moved):
    moved("sub-spindle")
    assert len(lacking()) == 2


def test_two_moves_are_both_named(lacking, sweep_of, moved, bore):
    moved("headstock")
    moved("guide bushing")
    assert lacking()[1].endswith(
        "not measured since the headstock spindle and the guide bushing housing were moved"
    )


def test_measured_again_within_it_is_settled(lacking, sweep_of, moved, machine):
    moved("back tools")
    sweep_of(item_of(machine, "back tools"), 1, 0, "as left")
    assert lacking() == []


def test_a_station_that_was_hit_must_be_measured(lacking, machine, taken_up, operator):
    incident = log_incident_at(
        machine=machine,
        stations=[station_of(machine, "sub-spindle")],
        made_by=operator,
        happened_at=at(4),
        what_hit="a holder",
        hit_what="the nose",
        severity="hard",
        may_run=False,
    )
    taken_up.visited.update(incident=incident)
    assert lacking() == [
        "M1, sub-spindle: bore to the guide bushing: the station was hit, and this is not measured"
    ]


def test_what_another_visit_left_stale_is_not_this_visit_s_to_settle(
    lacking, sweep_of, moved, bore, shop, firm, contractor, machine
):
    earlier = VisitFactory(shop=shop, firm=firm, contractor=contractor)
    sweep_of(bore, visit=earlier)
    moved(visit=earlier)
    assert lacking() == []


def test_each_leads_to_the_sweep_that_settles_it(taken_up, sweep_of, bore):
    sweep_of(bore, 40, 0)
    assert stations_not_settled(taken_up)[0].url == sweep_url(taken_up, bore)


def test_they_stand_on_the_visit_s_page(at_work, taken_up, sweep_of, bore):
    sweep_of(bore, 40, 0)
    assert "left outside its limits" in at_work.get(taken_up.get_absolute_url()).text


def test_signing_is_refused_while_something_is_lacking(at_work, taken_up, sweep_of, bore):
    sweep_of(bore, 40, 0)
    names = {"contractor_name": "Ida", "contractor_role": "service", "read": "on"}
    names |= {"customer_name": "Tom", "customer_role": "owner"}
    response = at_work.post(reverse("shop:sign", args=[taken_up.pk]), names)
    assert "left outside its limits" in response.text
    taken_up.refresh_from_db()
    assert not taken_up.is_signed


class TestAtACorrection:
    """The rest was settled, or explained, at the visit it corrects."""

    @pytest.fixture
    def correction(self, taken_up, sweep_of, moved, bore, signed, contractor, firm, machine):
        self.found = sweep_of(bore, 40, 0)
        moved()
        self.left = sweep_of(bore, 2, 0, "as left")
        signed(taken_up)
        taken_up.refresh_from_db()
        visit = correct_visit(taken_up, made_by=contractor, firm=firm, reason="a slip")
        add_machine_to_visit(visit, machine)
        return visit

    def test_what_was_moved_then_is_not_asked_for_again(self, lacking, correction, sweep_of, bore):
        sweep_of(bore, 39, 0, visit=correction, corrects=self.found)
        assert lacking(correction) == []

    def test_what_was_signed_as_left_outside_is_not_asked_for_again(
        self, lacking, taken_up, sweep_of, machine, signed, contractor, firm
    ):
        sweep_of(item_of(machine, "sub-spindle"), 40, 0)
        signed(taken_up)
        taken_up.refresh_from_db()
        visit = correct_visit(taken_up, made_by=contractor, firm=firm, reason="a slip")
        add_machine_to_visit(visit, machine)
        assert lacking(visit) == []

    def test_what_turns_out_to_be_left_outside_is_told(self, lacking, correction, sweep_of, bore):
        sweep_of(bore, 20, 0, "as left", visit=correction, corrects=self.left)
        assert lacking(correction)[0].endswith("left outside its limits")


def test_it_costs_the_same_however_many_machines(
    taken_up, shop, moved, django_assert_max_num_queries
):
    moved()
    with django_assert_max_num_queries(10) as one:
        stations_not_settled(taken_up)
    add_machine_to_visit(taken_up, five_station_machine(shop, number="M2"))
    with django_assert_max_num_queries(len(one)):
        stations_not_settled(taken_up)
