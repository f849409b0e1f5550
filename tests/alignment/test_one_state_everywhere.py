"""Every page and paper says the same of what one check is worth: after a crash nothing is green,
what was moved is stale, and only what touches the link counts."""

import html
import re
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from alignment.adjusting.positions import placed_chain
from alignment.adjusting.services import record_adjustment
from alignment.drift import drift_of_item
from alignment.drift.words import outlook_words
from alignment.register.station_services import begin_new_line
from alignment.sweeps import report as sections
from alignment.sweeps.chain_view import chain_at
from alignment.sweeps.services import save_check
from alignment.sweeps.states import state_of_item
from machines.history.issued import build_history
from machines.register.models import Station
from machines.visit_work.services import add_machine_to_visit
from shop.paper.documents import DocumentMeta, Letterhead, Section, build_document
from shop.visits.reporting import report_of
from shop.web.errors import Refused
from shop.web.wording import day_text
from tests import factories
from tests.factories import item_of, station_of, typed_sweep
from tests.papers import words_of

META = DocumentMeta(Letterhead("Oldbridge Spindle Service", [], []), "Service report", "1", "today")
GREEN = 'class="verdict within'
# One tells of the older check, one of a sweep still to be typed; two give places or ask.
SAY_NO_VERDICT = {"check", "sweep", "positions", "what a label opens"}

TEMPLATES = re.compile(r"<template.*?</template>", re.DOTALL)


@pytest.fixture
def sub(machine):
    return item_of(machine, "sub-spindle")


@pytest.fixture
def check(sub, sweep_of, taken_up, signed):
    """The sub-spindle measured from the housing, within, at a visit that was signed."""
    made = sweep_of(sub, 1, 0, made_at=timezone.now() - timedelta(hours=1))
    signed(taken_up)
    return made


@pytest.fixture
def later_visit(shop, firm, contractor, machine):
    visit = factories.VisitFactory(shop=shop, firm=firm, contractor=contractor)
    add_machine_to_visit(visit, machine)
    visit.refresh_from_db()
    return visit


@pytest.fixture
def move(machine, later_visit, contractor):
    def record(kind):
        station = station_of(machine, kind)
        return record_adjustment(
            visit=later_visit, station=station, what="tapped over", made_by=contractor
        )

    return record


@pytest.fixture
def told(at_work, check, sub, machine, contractor, later_visit):
    """What each page and paper says: name to text."""

    def read():
        pages = {
            "machine": reverse("machines:machine", args=[machine.pk]),
            "what a label opens": reverse("machines:at_machine", args=[machine.code]),
            "positions": reverse("alignment:placed", args=[machine.pk]),
            "item": sub.get_absolute_url(),
            "check": check.get_absolute_url(),
            "series as CSV": reverse("alignment:series_csv", args=[sub.pk]),
            "risk of drift": reverse("alignment:risk"),
            "visit": later_visit.get_absolute_url(),
            "sweep": reverse("alignment:sweep", args=[later_visit.pk, sub.pk]),
        }
        said = {
            # What a device would say lies in templates, which nobody sees.
            name: html.unescape(TEMPLATES.sub("", at_work.get(url, follow=True).content.decode()))
            for name, url in pages.items()
        }
        report = build_document(META, [Section("", sections.chain(report_of(later_visit)))])
        history = build_history(
            machine, number="MH-1", made_by=contractor, at=timezone.now() + timedelta(seconds=1)
        )
        return said | {"report": words_of(report), "history on paper": words_of(history)}

    return read


def without(said, words):
    """The pages and papers that do not say it, in whatever case."""
    return [name for name, text in said.items() if words.casefold() not in text.casefold()]


@pytest.mark.parametrize("hit", [["sub-spindle"], ["guide bushing"], []], ids=str)
def test_after_a_crash_every_page_says_so_and_none_is_green(told, crash, machine, hit):
    incident = crash(*hit)
    day = day_text(incident.happened_at.astimezone(machine.shop.zone))
    said = told()
    assert without(said, f"before the crash of {day}: measure again") == []
    assert [name for name, page in said.items() if GREEN in page] == []


def test_a_crash_elsewhere_leaves_it_as_it_was(told, crash):
    crash("back tools")
    said = told()
    assert [name for name, page in said.items() if "before the crash" in page] == []
    assert [name for name in ("machine", "item", "check") if GREEN not in said[name]] == []


@pytest.mark.parametrize("kind", ["sub-spindle", "guide bushing"])
def test_once_it_or_its_datum_was_moved_every_page_says_so(told, move, machine, kind):
    move(kind)
    said = told()
    name = station_of(machine, kind).name
    assert without(said, f"stale since the {name} was adjusted: measure again") == []
    assert [page for page in ("machine", "item", "check") if GREEN in said[page]] == []


def test_a_move_further_up_changes_nothing_on_any_page(told, move):
    move("headstock")
    said = told()
    assert [name for name, page in said.items() if "stale since" in page] == []
    assert [name for name in ("machine", "item", "check") if GREEN not in said[name]] == []


def test_measured_anew_every_page_shows_the_new_verdict(
    told, crash, later_visit, sub, contractor, at_work
):
    crash("sub-spindle")
    anew = save_check(
        visit=later_visit,
        item=sub,
        phase="as found",
        sweep=typed_sweep(2, 0),
        made_by=contractor,
    )
    said = told()
    assert [name for name, page in said.items() if "before the crash" in page] == []
    page = at_work.get(anew.get_absolute_url()).content.decode()
    assert GREEN in page
    assert "A <a href" in said["check"]  # the old one says that a newer one tells


@pytest.mark.parametrize("kind", ["tool broken", "other"])
def test_what_may_have_shifted_it_is_named_as_what_it_was(check, crash, sub, kind):
    crash("sub-spindle", kind=kind)
    _check, state = state_of_item(sub)
    assert "crash" not in state.words
    assert state.words.startswith("before the")


@pytest.mark.parametrize("kind", ["noise", "leak", "belt slipped", "drifting size"])
def test_what_shifts_no_casting_leaves_the_figures(check, crash, sub, kind):
    crash("sub-spindle", kind=kind)
    assert state_of_item(sub)[1].counts


def test_no_older_check_is_green_after_a_crash(at_work, check, crash, sub, later_visit, contractor):
    given = {"visit": later_visit, "phase": "as found", "made_by": contractor}
    save_check(item=sub, sweep=typed_sweep(2, 0), **given)
    crash("sub-spindle", happened_at=timezone.now())
    page = at_work.get(sub.get_absolute_url()).content.decode()
    assert GREEN not in page
    assert page.count('class="verdict greyed') == 3  # at the top, and for each check


def test_the_picture_of_the_check_is_not_green_either(at_work, check, crash):
    crash("sub-spindle")
    picture = at_work.get(reverse("alignment:check_picture", args=[check.pk])).content.decode()
    assert "before the crash" in picture
    assert "within" not in picture


def test_chain_positions_and_drift_answer_alike(check, crash, move, sub, machine):
    """Once the housing moved without a sweep, no forecast goes on as if nothing had happened."""
    move("guide bushing")
    chain = next(one for one in chain_at(machine) if one.station == sub.station)
    placed = next(one for one in placed_chain(machine).stations if one.station == sub.station)
    drift = drift_of_item(sub)
    words = state_of_item(sub)[1].words
    assert chain.items[0].state.words == placed.state.words == words
    assert outlook_words(drift).casefold().startswith(words)
    assert not drift.position_known
    assert drift.next_check == drift.today


def test_a_check_counts_the_same_before_its_visit_is_signed_and_after(
    told, sweep_of, sub, later_visit, signed
):
    sweep_of(sub, 60, 0, visit=later_visit)
    before = without(told(), "outside")
    signed(later_visit)
    assert without(told(), "outside") == before
    assert set(before) <= SAY_NO_VERDICT


def test_a_correction_counts_everywhere_before_it_is_signed(
    told, sweep_of, sub, later_visit, check
):
    assert set(without(told(), "outside")) > SAY_NO_VERDICT
    sweep_of(sub, 60, 0, visit=later_visit, corrects=check)
    assert set(without(told(), "outside")) <= SAY_NO_VERDICT


def test_a_signed_visit_is_told_as_it_was_signed(check, crash, taken_up, machine, sub):
    crash("sub-spindle")
    taken_up.refresh_from_db()
    state = next(one for one in chain_at(machine, taken_up) if one.station == sub.station)
    assert state.items[0].final == check


class TestPositions:
    def test_nothing_to_explain_is_not_said_of_what_was_not_measured(self, told):
        page = told()["positions"]
        assert "so there is nothing to explain" not in page
        assert "That says nothing of the rest" in page

    def test_it_is_said_once_all_was_measured(self, at_work, sweep_of, machine):
        for kind in ("guide bushing", "sub-spindle", "back tools"):
            sweep_of(item_of(machine, kind), 1, 0)
        Station.objects.filter(machine=machine, kind="gang tools").update(
            ended_on=timezone.localdate()
        )
        page = at_work.get(reverse("alignment:placed", args=[machine.pk])).content.decode()
        assert "so there is nothing to explain" in page

    def test_a_position_says_which_link_on_its_way_is_stale(self, sweep_of, moved, machine):
        for kind in ("guide bushing", "sub-spindle", "back tools"):
            sweep_of(item_of(machine, kind), 1, 0)
        moved("guide bushing")
        placed = {one.station.kind: one for one in placed_chain(machine).stations}
        weak = [one.station.kind for one in placed["back tools"].weak]
        assert weak == ["guide bushing", "sub-spindle"]
        assert placed["back tools"].state.counts

    def test_what_no_longer_counts_explains_nothing(self, sweep_of, crash, machine):
        sweep_of(item_of(machine, "guide bushing"), 60, 0)
        assert placed_chain(machine).culprits
        crash("guide bushing", happened_at=timezone.now())
        assert not placed_chain(machine).culprits


class TestBeforeAnAdjustment:
    def page(self, at_work, visit, station):
        return at_work.get(reverse("alignment:adjust", args=[visit.pk, station.pk]))

    def test_all_whose_as_found_is_lost_is_listed_at_every_station_measured_from_it(
        self, at_work, taken_up, machine, sweep_of
    ):
        sweep_of(item_of(machine, "gang tools"), 1, 0)
        page = self.page(at_work, taken_up, station_of(machine, "guide bushing"))
        lost = {one.item for one in page.context["never_found"]}
        measured_from_it = ["guide bushing", "sub-spindle", "gang tools"]
        items = {
            item for kind in measured_from_it for item in station_of(machine, kind).items.all()
        }
        assert lost == items - {item_of(machine, "gang tools")}

    def test_what_was_moved_already_has_no_as_found_left_to_lose(
        self, at_work, taken_up, machine, moved
    ):
        moved("guide bushing")
        page = self.page(at_work, taken_up, station_of(machine, "guide bushing"))
        assert page.context["never_found"] == []

    def test_the_back_tools_may_still_be_swept_as_found_after_the_housing_moved(
        self, sweep_of, moved, machine
    ):
        moved("guide bushing")
        assert sweep_of(item_of(machine, "back tools"), 1, 0).phase == "as found"
        with pytest.raises(Refused, match="no longer 'as found'"):
            sweep_of(item_of(machine, "sub-spindle"), 1, 0)


class TestPlans:
    @pytest.fixture
    def housing(self, machine):
        station = station_of(machine, "guide bushing")
        station.ways.create(kind="shift")
        return station

    def page(self, at_work, visit, station):
        url = reverse("alignment:adjust", args=[visit.pk, station.pk])
        return html.unescape(at_work.get(url).content.decode())

    def test_no_plan_is_made_from_a_stale_check(self, at_work, taken_up, housing, sweep_of, moved):
        sweep_of(item_of(housing.machine, "guide bushing"), 20, 0)
        assert "Shift the casting" in self.page(at_work, taken_up, housing)
        moved("guide bushing")
        page = self.page(at_work, taken_up, housing)
        assert "Shift the casting" not in page
        assert f"Sweep the {housing} first" in page

    def test_no_plan_is_made_from_before_a_crash(self, at_work, taken_up, housing, sweep_of, crash):
        sweep_of(item_of(housing.machine, "guide bushing"), 20, 0)
        crash("headstock", happened_at=timezone.now())
        page = self.page(at_work, taken_up, housing)
        assert "Shift the casting" not in page
        assert "before the crash" in page

    def test_no_plan_is_made_from_a_superseded_check(
        self, at_work, taken_up, housing, sweep_of, later_visit
    ):
        item = item_of(housing.machine, "guide bushing")
        sweep_of(item, 20, 0)
        sweep_of(item, 5, 0, visit=later_visit)
        page = self.page(at_work, taken_up, housing)
        assert "Shift the casting" not in page
        assert "A newer check took the place" in page

    def test_a_plan_drawn_before_the_move_is_refused_after_it(
        self, taken_up, housing, sweep_of, moved, contractor
    ):
        old = sweep_of(item_of(housing.machine, "guide bushing"), 20, 0)
        moved("guide bushing")
        with pytest.raises(Refused, match="Sweep the guide bushing housing first"):
            moved("guide bushing", planned_from=old)


def test_a_station_begun_anew_keeps_what_was_moved_and_hit_under_its_old_line(
    check, later_visit, machine, crash, sub
):
    """The sub-spindle's datum is the same casting, however it is measured from now on."""
    crash("guide bushing")
    begin_new_line(station_of(machine, "guide bushing"), plane_mm=95.0)
    sub.station.refresh_from_db()
    assert state_of_item(sub)[1].is_before_a_crash
