"""Drift in the service report and in the advice to look at what holds a station."""

import pytest

from alignment.drift.estimates import drift_of_item
from alignment.drift.report import drift as section
from alignment.drift.rules import station_that_keeps_drifting
from alignment.drift.words import notes
from alignment.geometry.measure.verdict import coverage_factor
from alignment.sweeps.models import Check
from machines.drive.models import Thresholds
from shop.paper.documents import DocumentMeta, Letterhead, Section, build_document
from shop.visits.reporting import report_of
from tests.alignment.drifting import day, knock, seen, steady
from tests.papers import words_of

META = DocumentMeta(Letterhead("Oldbridge Spindle Service", [], []), "Service report", "1", "today")


def printed(visit):
    return words_of(build_document(META, [Section("", section(report_of(visit)))]))


@pytest.fixture
def last(bore, contractor):
    """The newest of six visits, at which a bump nobody logged was found."""
    steady(bore, last=60)
    return seen(bore, 5, (18, 0), (1, 0))


def test_it_tells_what_wear_does_not_explain(last):
    assert "look for an unlogged bump" in printed(last)


def test_it_tells_the_rate_with_its_interval_and_the_day_to_check_by(last):
    text = printed(last)
    assert "mm to the front" in text
    assert "the day the chance of being outside passes 5 %" in text


def test_it_has_the_cautions_of_the_item_s_page(bore, last):
    """What the page says of the figures stands in print as well, once for all items it is of."""
    Check.objects.order_by("made_at").update(coverage=coverage_factor(1))
    said = notes(drift_of_item(bore), "mm")
    assert any("points in a hundred" in one for one in said)
    text = printed(last)
    assert all(" ".join(one.split()) in text for one in said)


def test_the_picture_of_the_item_most_likely_out_comes_with_its_forecast(last):
    text = printed(last)
    assert "over the visits, with the forecast" in text
    assert "Shaded: forecast" in text


def test_a_machine_seen_once_has_no_section_and_costs_next_to_nothing(
    bore, contractor, django_assert_max_num_queries
):
    report = report_of(seen(bore, 5, (2, 0)))
    with django_assert_max_num_queries(5):
        assert section(report) == []


def test_a_signed_report_knows_nothing_of_what_came_later(machine, last, signed):
    signed(last, at=day(4))
    last.refresh_from_db()
    before = printed(last)
    knock(machine, 3)
    assert "now: incident" not in printed(last)
    assert printed(last) == before


class TestAdvice:
    @pytest.fixture(autouse=True)
    def _three_in_a_row(self, shop):
        Thresholds.objects.create(shop=shop, drifts_in_a_row=3)

    def test_it_says_how_fast_the_station_drifts(self, machine, bore, contractor):
        for days_ago, found_um in ((1500, 15), (1100, 16), (700, 17), (300, 15)):
            seen(bore, days_ago, (found_um, 0), (1, 0))
        (advice,) = station_that_keeps_drifting(machine, None)
        assert "found outside at 4 visits in a row" in advice.reason
        assert "Between visits it drifts by 0.01" in advice.reason
        assert "(95 %: " in advice.reason

    def test_where_the_visits_do_not_tell_the_rate_it_says_nothing_of_it(
        self, machine, bore, contractor
    ):
        for _ in range(3):
            seen(bore, 10, (40, 0), (1, 0))
        (advice,) = station_that_keeps_drifting(machine, None)
        assert advice.reason.endswith("though it was set right each time.")
