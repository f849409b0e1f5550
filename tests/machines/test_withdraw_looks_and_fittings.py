"""Looks, fittings and ticks that were entered by mistake: withdrawn, moved and restored."""

from decimal import Decimal

import pytest
from django.urls import reverse

from machines.drive.belt_looks import last_looks
from machines.drive.charge_sources import fitted_parts
from machines.drive.check_lines import part_lines
from machines.drive.inspecting import inspect_belt
from machines.drive.models import (
    BearingInspection,
    BeltInspection,
    Fitting,
    Recommendation,
    Removal,
)
from machines.drive.services import fit, fit_advised, inspect_bearing
from machines.drive.signing_blockers import parts_not_looked_at
from machines.incidents.follow_up import tick_line
from machines.incidents.models import CheckLine
from machines.visit_work.services import add_machine_to_visit
from shop.hooks import history
from shop.visits.services import arrive
from shop.visits.withdrawing import move, restore, withdraw
from shop.web.errors import Refused
from tests.factories import BearingFactory

WHY = "wrong belt"
MARKED = {17: "marked", 18: "marked"}


@pytest.fixture
def here(visit, machine):
    add_machine_to_visit(visit, machine)
    arrive(visit)
    visit.refresh_from_db()
    return visit


@pytest.fixture
def look(belt, here, contractor):
    return inspect_belt(belt=belt, visit=here, made_by=contractor, teeth=MARKED)


class TestALookAtABelt:
    def test_its_advice_goes_and_comes_back_with_it(self, look, contractor):
        assert Recommendation.objects.open().exists()
        withdraw(look, by=contractor, why=WHY)
        assert not Recommendation.objects.open().exists()
        restore(look, by=contractor)
        assert Recommendation.objects.open().exists()

    def test_the_belt_was_not_looked_at_then(self, look, belt, machine, here, contractor):
        withdraw(look, by=contractor, why=WHY)
        (told,) = [one for one in last_looks(machine.belts.all(), visit=here) if one.belt == belt]
        assert told.inspection is None
        assert not history(machine, limit=10, kind="inspections")

    def test_it_is_moved_to_the_belt_it_was_a_look_at(self, look, machine, contractor):
        other = machine.belts.get(name="jack shaft belt")
        new = move(look, other.pk, by=contractor, why=WHY)
        assert list(BeltInspection.objects.all()) == [new]
        assert (new.belt, new.conditions(), new.made_at) == (other, MARKED, look.made_at)

    def test_a_look_without_a_visit_is_corrected_instead(self, belt, operator, contractor):
        look = inspect_belt(belt=belt, made_by=operator, teeth=MARKED)
        with pytest.raises(Refused, match="without a visit"):
            withdraw(look, by=contractor, why=WHY)


def test_a_look_at_a_bearing_is_moved(machine, here, contractor):
    one, other = (BearingFactory(machine=machine) for _place in range(2))
    look = inspect_bearing(bearing=one, visit=here, made_by=contractor, feel="notchy")
    new = move(look, other.pk, by=contractor, why=WHY)
    assert list(BearingInspection.objects.all()) == [new]
    assert (new.bearing, new.feel) == (other, "notchy")


class TestAFitting:
    @pytest.fixture
    def part(self, belt):
        belt.part.price, belt.part.in_van = Decimal("48.50"), 1
        belt.part.save()
        return belt.part

    @pytest.fixture
    def fitting(self, look, here, part, contractor):
        advice = Recommendation.objects.get()
        return fit_advised(
            advice, made_by=contractor, visit=here, taken_from="in_van", why="worn"
        ).fitting

    def stock(self, part):
        part.refresh_from_db()
        return part.in_van

    def test_the_old_one_is_in_again_and_the_part_in_stock(
        self, fitting, belt, part, here, contractor
    ):
        withdraw(fitting, by=contractor, why=WHY)
        assert Fitting.objects.in_place().get().from_the_start
        assert not Removal.objects.exists()
        assert self.stock(part) == 1
        belt.refresh_from_db()
        old = Fitting.objects.get()
        assert belt.fitted_on == old.fitted_at.astimezone(here.shop.zone).date()

    def test_the_advice_is_open_again_and_nothing_is_charged(self, fitting, here, contractor):
        assert list(fitted_parts(here))
        withdraw(fitting, by=contractor, why=WHY)
        assert Recommendation.objects.open().count() == 1
        assert not list(fitted_parts(here))

    def test_restored_all_is_as_it_was(self, fitting, part, here, contractor):
        withdraw(fitting, by=contractor, why=WHY)
        restore(fitting, by=contractor)
        assert Fitting.objects.in_place().get() == fitting
        assert Removal.objects.get().why == "worn"
        assert self.stock(part) == 0
        assert not Recommendation.objects.open().exists()
        assert len(list(fitted_parts(here))) == 1

    def test_it_is_not_withdrawn_under_a_newer_one(self, fitting, belt, here, contractor):
        newer = fit(belt, made_by=contractor, visit=here)
        with pytest.raises(Refused, match="fitted there since"):
            withdraw(fitting, by=contractor, why=WHY)
        withdraw(newer, by=contractor, why=WHY)
        assert Fitting.objects.in_place().get() == fitting

    def test_withdrawn_it_is_not_restored_over_a_newer_one(self, fitting, belt, here, contractor):
        withdraw(fitting, by=contractor, why=WHY)
        fit(belt, made_by=contractor, visit=here)
        with pytest.raises(Refused, match="fitted there since"):
            restore(fitting, by=contractor)


class TestALineOfTheCheckList:
    @pytest.fixture
    def line(self, here, belt):
        visited = here.visited.get()
        return CheckLine.objects.create(
            visited=visited, position=1, what="part", subject=belt.name, reason="It was hit."
        )

    def test_a_belt_inspected_tooth_by_tooth_ticks_it_by_itself(self, line, here, look):
        (part,) = part_lines(here)
        assert (part.is_done, part.inspection, part.by) == (True, look, look.made_by)
        assert not parts_not_looked_at(here)

    def test_page_and_paper_say_the_same_of_it(self, client, line, here, look, contractor):
        client.force_login(contractor)
        page = client.get(here.get_absolute_url()).text
        shown = page.partition(f'id="part-{line.pk}"')[2].partition("</li>")[0]
        assert look.get_absolute_url() in shown
        assert "not looked at" not in shown
        (part,) = part_lines(here)
        assert part.found in page

    def test_a_withdrawn_tick_is_open_again_until_it_is_restored(self, line, here, contractor):
        tick_line(line, by=contractor, found="chipped")
        withdraw(line, by=contractor, why=WHY)
        assert [part.is_done for part in part_lines(here)] == [False]
        assert parts_not_looked_at(here)
        restore(line, by=contractor)
        assert [part.found for part in part_lines(here)] == ["chipped"]

    def test_ticking_it_anew_ends_the_withdrawal(self, line, here, contractor):
        tick_line(line, by=contractor, found="chipped")
        withdraw(line, by=contractor, why=WHY)
        line.refresh_from_db()
        tick_line(line, by=contractor, found="sound")
        assert [part.found for part in part_lines(here)] == ["sound"]

    def test_a_tick_comes_back_to_its_own_line(self, client, line, here, contractor):
        client.force_login(contractor)
        answer = client.post(reverse("machines:check_line", args=[line.pk]), {"found": "sound"})
        assert answer.url == f"{here.get_absolute_url()}#part-{line.pk}"
