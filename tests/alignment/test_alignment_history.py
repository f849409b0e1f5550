"""Checks and adjustments in a machine's history."""

import pytest
from django.urls import reverse

from shop.hooks import history
from shop.visits.services import correct_visit
from tests.factories import at, station_of


def test_a_check_is_told_with_its_figure_and_verdict(machine, sweep_of, bore, contractor):
    check = sweep_of(bore, 40, 0, made_at=at(5), note="oily")
    event = history(machine, limit=10, kind="checks")[0]
    assert event.title == (
        "Guide bushing housing: bore to the headstock axis, as found: 0.0400 mm, outside"
    )
    assert (event.when, event.url, event.who) == (at(5), check.get_absolute_url(), contractor.name)
    assert event.text == "Tolerance up to 0.01 mm. oily"


def test_lengths_are_told_in_the_shop_s_unit(machine, sweep_of, bore):
    machine.shop.length_unit = "in"
    machine.shop.save()
    sweep_of(bore, 25.4, 0)
    assert "0.00100 in" in history(machine, limit=10, kind="checks")[0].title


def test_an_adjustment_is_told_with_how_far(machine, moved, taken_up):
    moved(front_um=-31, up_um=22, what="tapped over", made_at=at(5))
    event = history(machine, limit=10, kind="adjustments")[0]
    station = station_of(machine, "guide bushing")
    assert (event.title, event.when) == ("Guide bushing housing adjusted", at(5))
    assert event.text == "tapped over, moved 0.031 mm to the rear, 0.022 mm up"
    assert event.url == f"{reverse('shop:visit', args=[taken_up.pk])}#station-{station.pk}"


def test_a_correction_and_what_it_corrects_name_each_other(
    machine, sweep_of, bore, taken_up, signed, contractor, firm
):
    old = sweep_of(bore, 4, 0)
    signed(taken_up)
    taken_up.refresh_from_db()
    visit = correct_visit(taken_up, made_by=contractor, firm=firm, reason="a slip")
    sweep_of(bore, 5, 0, visit=visit, corrects=old)
    newer, older = history(machine, limit=10, kind="checks")
    assert f"Corrects the check made at visit {taken_up.number}." in newer.text
    assert "Corrected later." in older.text


@pytest.mark.parametrize("kind", ["checks", "adjustments"])
class TestPaging:
    @pytest.fixture(autouse=True)
    def five_days(self, sweep_of, moved, bore):
        for day in (3, 1, 5, 2, 4):
            sweep_of(bore, phase="as left", made_at=at(day))
            moved(made_at=at(day, hour=10))

    def days(self, events):
        return [event.when.day for event in events]

    def test_the_newest_come_first(self, machine, kind):
        assert self.days(history(machine, limit=10, kind=kind)) == [5, 4, 3, 2, 1]

    def test_no_more_than_asked_for(self, machine, kind):
        assert self.days(history(machine, limit=2, kind=kind)) == [5, 4]

    def test_only_what_is_older_than_asked_for(self, machine, kind):
        assert self.days(history(machine, limit=2, kind=kind, before=at(3, hour=8))) == [2, 1]

    def test_at_the_cost_of_two_queries(self, machine, kind, django_assert_num_queries):
        assert machine.shop.length_unit
        with django_assert_num_queries(2):
            history(machine, limit=10, kind=kind)
