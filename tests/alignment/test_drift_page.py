"""The drift of an item as its page tells it, poor records included."""

import csv
import io

import pytest
from django.urls import reverse

from alignment.sheets.models import AcceptanceItem
from alignment.sheets.services import put_in_force
from tests import factories
from tests.alignment.drifting import day, knock, seen, steady


@pytest.fixture
def page(client, contractor, bore):
    client.force_login(contractor)

    def get(item=None):
        response = client.get((item or bore).get_absolute_url())
        assert response.status_code == 200
        return response

    return get


def told(response):
    return response.context["told"]


def rows_of(client, name, item):
    response = client.get(reverse(f"alignment:{name}", args=[item.pk]))
    assert response["Content-Type"] == "text/csv; charset=utf-8"
    return list(csv.DictReader(io.StringIO(response.text)))


class TestAGoodRecord:
    @pytest.fixture(autouse=True)
    def _record(self, page, bore):
        steady(bore, rate_um=3.0)

    def test_the_rate_stands_with_its_interval(self, page):
        sideways, up = told(page()).rates
        assert sideways[1].endswith("mm to the front per year")
        assert sideways[2].endswith("mm to the front")
        assert up[0] == "up or down"

    def test_the_day_of_risk_stands_with_its_interval(self, page):
        assert "passes 5 % on" in told(page()).outlook
        assert "95 %:" in told(page()).outlook

    def test_it_says_that_nothing_was_borrowed(self, page):
        assert "no other machines like it to borrow from" in page().text

    def test_every_move_leads_to_the_checks_it_rests_on(self, page, bore):
        moves = told(page()).moves
        checks = {check.get_absolute_url() for check in bore.checks.all()}
        ends = {move[end]["url"] for move in moves for end in ("before", "after")}
        assert len(moves) == 4
        assert ends <= checks
        assert all(f'href="{url}"' in page().text for url in ends)

    def test_the_picture_shows_the_forecast_and_says_it_in_words(self, client, page, bore):
        assert "Forecast for" in page().context["alt"]
        picture = client.get(reverse("alignment:drift_picture", args=[bore.pk]))
        assert picture["Content-Type"] == "image/svg+xml"
        assert "Shaded: forecast" in picture.text

    @pytest.mark.parametrize("palette", ["light", "dark", "print"])
    def test_the_way_of_the_axis_has_a_picture_in_every_palette(self, client, page, bore, palette):
        page()
        address = reverse("alignment:track_picture", args=[bore.pk])
        assert client.get(address, {"palette": palette}).text.startswith("<svg")

    def test_the_forecast_stands_in_a_table_and_a_csv_file_alike(self, client, page, bore):
        table, rows = told(page()).forecast_rows, rows_of(client, "forecast_csv", bore)
        assert len(table) == len(rows) > 5
        middle = [float(row["middle, µm"]) for row in rows]
        assert middle == sorted(middle)
        assert all(float(r["95 % from, µm"]) <= float(r["50 % from, µm"]) for r in rows)

    def test_the_moves_can_be_taken_out_as_csv(self, client, page, bore):
        page()
        rows = rows_of(client, "moves_csv", bore)
        assert [round(float(row["moved, front (+) / rear (-), µm"])) for row in rows] == [
            3,
            3,
            3,
            3,
        ]
        assert {row["per"] for row in rows} == {"year"}

    def test_mere_wear_is_called_wear(self, page):
        assert "no more than wear and wandering can do" in told(page()).change

    def test_a_bump_nobody_logged_is_looked_for(self, page, bore):
        seen(bore, 10, (18, 0), (1, 0))
        assert told(page()).change.endswith("look for an unlogged bump.")

    def test_a_logged_bump_is_the_likely_reason_and_has_its_step(self, page, bore, machine):
        incident = knock(machine, 20)
        seen(bore, 10, (18, 0), (1, 0))
        said = told(page())
        assert said.change.endswith("the logged incident is the likely reason.")
        assert said.moves[0]["knocks"] == (incident,)
        assert "95 %" in said.moves[0]["step"]

    def test_a_knock_since_the_last_check_is_not_forecast_away(self, page, machine):
        knock(machine, 3)
        said = told(page())
        assert "measure again. No forecast covers a knock" in said.outlook
        assert (said.next_check, said.forecast_rows) == ("now", [])
        assert said.chance == "not known"

    def test_after_a_knock_the_forecast_is_the_least_the_chance_can_be(self, page, bore, machine):
        seen(bore, 10, (2, 0), (9.6, 0))
        knock(machine, 3)
        assert told(page()).chance.endswith("% or more")

    def test_a_drift_that_has_changed_is_noticed_over_several_visits(self, page, bore):
        """Twice as fast as before: no single move is unusual, together they are."""
        for days_ago in (25, 20, 15, 10, 5):
            seen(bore, days_ago, (2.2, 0), (1, 0))
        assert "the drift has changed" in told(page()).change

    def test_it_costs_the_same_however_long_the_record(
        self, page, bore, django_assert_max_num_queries
    ):
        with django_assert_max_num_queries(25) as short:
            page()
        with django_assert_max_num_queries(10):
            page()
        for days_ago in range(25, 0, -1):
            seen(bore, days_ago, (1, 0), (1, 0))
        with django_assert_max_num_queries(len(short)):
            page()

    def test_a_sheet_no_longer_in_force_leads_to_the_one_that_is(self, page, bore, machine):
        sheet = factories.AcceptanceSheetFactory(
            machine=machine, name="after rebuild", is_current=False
        )
        factories.AcceptanceItemFactory(sheet=sheet, station=bore.station)
        put_in_force(sheet)
        response = page()
        assert response.context["told"] is None
        assert reverse("alignment:sheet", args=[machine.pk]) in response.text


class TestPoorRecords:
    """Each gives a sentence, none a traceback or a certainty that is not there."""

    def test_never_measured(self, page):
        said = told(page())
        assert "No visit has measured it yet" in said.outlook
        assert (said.chance, said.next_check, said.speed) == ("not known",) * 3

    def test_one_visit_only(self, page, bore):
        seen(bore, 30, (2, 0))
        said = told(page())
        assert "No forecast can be made yet" in said.outlook
        assert "it takes two visits" in " ".join(said.notes)
        assert said.chance == "not known"

    def test_two_visits_give_a_rate_without_an_interval_and_no_forecast(self, page, bore):
        seen(bore, 400, (2, 0))
        seen(bore, 30, (4, 0))
        said = told(page())
        assert said.rates[0][2] == "not known"
        assert said.chance == "not known"
        assert "No forecast" in " ".join(said.notes)

    def test_two_visits_on_one_day(self, page, bore):
        seen(bore, 30, (2, 0))
        seen(bore, 30, (4, 0))
        said = told(page())
        assert "No time passed between visit 1 and visit 2" in " ".join(said.notes)
        assert said.rates == []

    def test_as_found_missing(self, page, bore):
        steady(bore)
        seen(bore, 10, None, (0, 0), moved=True)
        assert "Visit 6 has no as found" in " ".join(told(page()).notes)

    def test_as_left_missing_at_the_last_visit(self, page, bore):
        steady(bore)
        seen(bore, 10, (3, 0), None, moved=True)
        said = told(page())
        assert said.outlook == "Stale since the guide bushing housing was adjusted: measure again."
        assert (said.chance, said.next_check) == ("not known", "now")

    def test_as_left_missing_in_between(self, page, bore):
        seen(bore, 800, (3, 0), None, moved=True)
        steady(bore, years=2, last=20)
        said = told(page())
        assert "Visit 1 has no as left" in " ".join(said.notes)
        assert said.moves[-1]["moved"] == "not known"

    def test_moved_again_after_it_was_measured_as_left(self, page, bore, contractor):
        from alignment.adjusting.services import record_adjustment

        visit = seen(bore, 10, (3, 0), (1, 0))
        record_adjustment(
            visit=visit, station=bore.station, what="nudged", made_by=contractor,
            made_at=day(10, 15),
        )  # fmt: skip
        assert told(page()).outlook.startswith("Stale since the guide bushing housing")

    def test_a_clock_that_went_backwards(self, page, bore):
        """The visit came after the others, but the device said two years before."""
        steady(bore, last=60)
        seen(bore, 800, (3, 0), arrived=20)
        assert "Time runs backwards from visit 5 to visit 6" in " ".join(told(page()).notes)

    def test_the_tolerance_changed_with_a_new_sheet(self, page, bore, machine):
        steady(bore)
        tighter = self._new_sheet(machine, bore, upper_um=8)
        said = told(page(tighter))
        assert "The tolerance changed from up to 0.01 mm to up to 0.008 mm" in " ".join(said.notes)
        assert "since" in page(tighter).context["alt"]
        assert len(said.moves) == 4

    def test_the_item_was_renamed_on_a_new_sheet(self, page, bore, machine):
        steady(bore)
        renamed = self._new_sheet(machine, bore, name="housing to spindle")
        seen(renamed, 5, (2, 0))
        notes = " ".join(told(page(renamed)).notes)
        assert "calls it “housing to spindle” since visit 6" in notes

    def _new_sheet(self, machine, bore, **changed):
        sheet = factories.AcceptanceSheetFactory(
            machine=machine, name="after rebuild", is_current=False
        )
        item = factories.AcceptanceItemFactory(
            **{"sheet": sheet, "station": bore.station, "name": bore.name} | changed
        )
        put_in_force(sheet)
        return AcceptanceItem.objects.get(pk=item.pk)

    def test_no_spindle_hours_between(self, page, bore, machine, contractor):
        shown = {day(500): 4000, day(300): 4000, day(30): 4000}
        factories.metered(machine, contractor, shown)
        for days_ago, right_um in ((500, 1), (300, 2), (30, 3)):
            seen(bore, days_ago, (right_um, 0))
        said = told(page())
        assert "No time passed between visit 1 and visit 2" in " ".join(said.notes)
        assert said.speed == "not known"
        assert [move["elapsed"] for move in said.moves] == ["0 h", "0 h"]

    def test_identical_values_throughout_are_no_proof_of_a_steady_machine(self, page, bore):
        for days_ago in (1500, 1100, 700, 300, 30):
            seen(bore, days_ago, (2, 0), (2, 0), moved=True)
        said = told(page())
        assert "agree better than their stated uncertainty allows" in " ".join(said.notes)
        assert said.rates[0][2] != "not known"
        assert said.change.startswith("Not moved since")

    def test_no_uncertainty_stated(self, page, bore):
        for days_ago, right_um in ((1500, 1), (1100, 3), (700, 4), (300, 7), (30, 8)):
            seen(bore, days_ago, (right_um, 0), u_um="0")
        assert told(page()).notes
