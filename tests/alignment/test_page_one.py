"""Page one of a service report is the answer: a shop owner reads no further to know what is so."""

import io
from decimal import Decimal

import pytest
from django.utils import timezone
from pypdf import PdfReader

from machines.drive.inspecting import inspect_belt
from machines.drive.models import Recommendation
from machines.drive.recommending import take_step
from machines.history.issued import build_history
from machines.incidents.stopping import release_machine, stop_machine
from machines.visit_work.services import add_machine_to_visit
from shop.paper.issuing import CheckMark
from shop.visits.reporting import build_report
from shop.visits.services import note_come_back
from tests import factories
from tests.papers import words_of

MARK = CheckMark("https://sweepbook.example/check/3F9A-21C7", "3F9A-21C7")


def pages_of(visit, check=None):
    pages = PdfReader(io.BytesIO(build_report(visit, check))).pages
    return [" ".join(page.extract_text().split()) for page in pages]


@pytest.fixture
def first(taken_up):
    """What the first page of the visit's report says."""

    def read():
        taken_up.refresh_from_db()
        return pages_of(taken_up)[0]

    return read


@pytest.fixture
def history(machine, owner):
    """What the machine's history on paper says."""

    def read():
        at = timezone.now()
        return words_of(build_history(machine, number="MH-1", made_by=owner, at=at))

    return read


class TestMayItRun:
    def test_with_nothing_against_it_it_may(self, first, history, sweep_of, bore):
        sweep_of(bore)
        assert "May it run: yes" in first()
        assert "May run yes" in history()

    def test_stopped_it_may_not(self, first, history, machine):
        stop_machine(machine)
        assert "May it run: no Stopped until looked at, since" in first()
        assert "May run no: stopped until looked at, since" in history()

    def test_over_a_belt_that_must_go_first_it_may_not(
        self, first, history, taken_up, belt, contractor
    ):
        inspect_belt(belt=belt, made_by=contractor, teeth={3: "missing"}, visit=taken_up)
        advice = Recommendation.objects.get()
        assert advice.urgency == Recommendation.Urgency.BEFORE_RUN
        assert f"May it run: no Before it runs again: {advice.what}." in first()
        assert f"no: before it runs again: {advice.what}" in history()
        take_step(advice, "declined", made_by=contractor, note="at their own risk")
        assert "May it run: yes" in first()

    def test_outside_its_limits_not_yet(self, first, history, sweep_of, bore):
        sweep_of(bore, 40)
        assert f"May it run: not yet Outside its limits: {bore}." in first()
        assert f"not yet: outside its limits: {bore}" in history()

    def test_not_measured_since_a_crash_not_yet(self, first, history, sweep_of, bore, crash):
        sweep_of(bore)
        crash("guide bushing", happened_at=timezone.now())
        assert f"May it run: not yet {str(bore).capitalize()}: before the crash of" in first()
        assert f"not yet: {bore}: before the crash of" in history()

    def test_a_signed_visit_tells_of_the_moment_of_signing(self, taken_up, machine, owner, signed):
        stop_machine(machine)
        signed(taken_up)
        taken_up.refresh_from_db()
        release_machine(machine, by=owner, reason="looked at")
        assert "May it run: no" in pages_of(taken_up)[0]


def test_what_was_out_moved_and_left_takes_a_line_each(first, sweep_of, moved, bore):
    sweep_of(bore, 40)
    moved(front_um=-40)
    sweep_of(bore, 2, phase="as left")
    said = first()
    assert f"Out when we came {bore}: 0.0400 mm, allowed up to 0.01 mm" in said
    assert "Moved guide bushing housing: " in said
    assert f"How it was left {bore}: 0.0020 mm, within" in said


def test_what_to_replace_has_its_urgency_price_and_hours(first, taken_up, belt, contractor):
    belt.part = factories.PartFactory(
        firm=taken_up.firm, shop=None, price=Decimal("40"), fitting_h=Decimal("1.5")
    )
    belt.save()
    inspect_belt(belt=belt, made_by=contractor, teeth={3: "worn", 9: "worn"}, visit=taken_up)
    advice = Recommendation.objects.get()
    said = first()
    assert f"{advice.what}: this visit; part €" in said
    assert "1.5 h to fit" in said
    take_step(advice, "deferred", made_by=contractor, note="next month")
    assert "deferred: next month" in first()


def test_what_was_left_undone_is_named_with_why(first, taken_up, bore, sweep_of, belt):
    sweep_of(bore)
    said = first()
    assert "Left undone not measured: " in said
    assert "(never measured)" in said
    assert "not looked at: " in said
    assert belt.name in said
    assert "no reason was noted" in said
    note_come_back(taken_up, "the collet was out for repair")
    said = first()
    assert "no reason was noted" not in said
    assert "We come back for the collet was out for repair" in said


def test_what_was_moved_and_not_measured_again_is_checked_now(first, sweep_of, moved, bore):
    sweep_of(bore)
    moved()
    assert f"Check by now: {bore}" in first()


def test_who_signed_stands_on_it(taken_up, signed):
    signed(taken_up)
    taken_up.refresh_from_db()
    said = pages_of(taken_up)[0]
    assert "Signed Ida M., service, for" in said
    assert "Tom Q., owner, for" in said


def test_several_machines_have_a_summary_and_a_page_each(taken_up, shop, sweep_of, bore):
    other = factories.five_station_machine(shop, number="M2")
    add_machine_to_visit(taken_up, other)
    sweep_of(bore, 40)
    taken_up.refresh_from_db()
    summary, one, two, *evidence = pages_of(taken_up)
    assert "not yet: outside its limits" in summary
    assert "May it run: not yet" in one
    assert "May it run: yes" in two
    assert evidence
    assert not any("May it run" in page for page in evidence)


def test_a_visit_without_a_machine_still_says_what_it_comes_back_for(visit):
    visit = note_come_back(visit, "the machine had not arrived")
    assert "To come back for the machine had not arrived" in pages_of(visit)[0]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_crash_visit_is_answered_on_one_page_of_each_paper(
    taken_up, machine, sweep_of, moved, crash, paper
):
    """Every station out, moved and measured again: the fullest page a usual machine gives."""
    kinds = ("guide bushing", "sub-spindle", "back tools")
    crash(*kinds)
    for kind in kinds:
        sweep_of(factories.item_of(machine, kind), 60)
    for kind in kinds:
        moved(kind)
        sweep_of(factories.item_of(machine, kind), 1, phase="as left")
    taken_up.firm.paper_size = paper
    first, second, *_ = pages_of(taken_up)
    assert "Signed not signed yet" in first
    assert "Alignment of machine" in second or "What happened" in second


def test_no_page_holds_only_the_code(taken_up, sweep_of, bore):
    sweep_of(bore)
    (page,) = (page for page in pages_of(taken_up, MARK) if MARK.code in page)
    assert "Signatures" in page


def test_advice_stands_after_what_was_measured_and_seen(taken_up, sweep_of, bore, belt, contractor):
    sweep_of(bore)
    inspect_belt(belt=belt, made_by=contractor, teeth={3: "worn", 9: "worn"}, visit=taken_up)
    said = " ".join(pages_of(taken_up))
    order = ["Alignment of machine", "Readings as typed", "Belts", "Recommended replacements"]
    places = [said.rindex(one) for one in order]
    assert places == sorted(places)
