"""An acceptance item over its visits: picture, table, CSV file."""

import csv
import io

import pytest
from django.urls import reverse

from shop.visits.services import correct_visit
from tests.factories import VisitFactory, at, item_of

JANUARY, MARCH = at(10, month=1), at(5)


@pytest.fixture
def page(client, owner, bore):
    client.force_login(owner)
    return lambda **query: client.get(bore.get_absolute_url(), query)


@pytest.fixture
def two_visits(sweep_of, bore, shop, firm, contractor):
    """January: found at 4 µm. March: found at 12 µm, left at 3 µm."""
    earlier = VisitFactory(shop=shop, firm=firm, contractor=contractor, arrived_at=JANUARY)
    return [
        sweep_of(bore, 4, 0, visit=earlier, made_at=JANUARY),
        sweep_of(bore, 12, 0, made_at=MARCH),
        sweep_of(bore, 0, 3, "as left", made_at=MARCH),
    ]


def read_csv(client, item):
    response = client.get(reverse("alignment:series_csv", args=[item.pk]))
    assert response["Content-Type"] == "text/csv; charset=utf-8"
    return list(csv.DictReader(io.StringIO(response.text)))


def test_every_check_stands_in_the_table_newest_first(page, two_visits):
    rows = [row.record.pk for row in page().context["table"].rows]
    assert rows == [two_visits[2].pk, two_visits[1].pk, two_visits[0].pk]


def test_the_table_is_sorted_as_asked(page, two_visits):
    rows = [row.record.value_um for row in page(sort="value_um").context["table"].rows]
    assert rows == sorted(rows)


def test_the_picture_says_its_numbers_in_words(page, two_visits):
    alt = page().context["alt"]
    assert "10 Jan 2025 as found 0.0040 mm" in alt
    assert "5 Mar 2025 as found 0.0120 mm, as left 0.0030 mm" in alt
    assert "at most 0.0100 mm" in alt


def test_the_picture_has_its_own_address(client, page, two_visits, bore):
    picture = client.get(reverse("alignment:series_picture", args=[bore.pk]), {"palette": "dark"})
    assert (picture.status_code, picture["Content-Type"]) == (200, "image/svg+xml")
    assert picture.text.startswith("<svg")


def test_an_item_never_measured_says_so(page, bore):
    response = page()
    assert response.status_code == 200
    assert "no visit has measured it yet" in response.context["alt"]


def test_the_csv_file_holds_the_readings_behind_each_value(client, page, two_visits, bore):
    page()
    rows = read_csv(client, bore)
    assert [row["phase"] for row in rows] == ["as found", "as found", "as left"]
    assert [round(float(row["value, µm"]), 6) for row in rows] == [4, 12, 3]
    assert rows[1]["readings as typed"] == (
        "0°: -0.0 [um]; 90°: -12.0 [um]; 180°: -0.0 [um]; 270°: 12.0 [um]"
    )
    assert rows[0]["measured at (UTC)"] == "2025-01-10T09:00:00Z"


def test_a_note_that_a_spreadsheet_would_compute_is_made_harmless(client, page, sweep_of, bore):
    sweep_of(bore, note='=HYPERLINK("http://x.example")')
    page()
    assert read_csv(client, bore)[0]["note"] == '\'=HYPERLINK("http://x.example")'


def test_a_negative_value_stays_a_number_in_the_csv_file(client, page, sweep_of, machine):
    gang = item_of(machine, "gang tools")
    sweep_of(gang, -7, 0)
    page()
    assert round(float(read_csv(client, gang)[0]["value, front (+) / rear (-), µm"]), 6) == -7


class TestCorrected:
    """A correction counts for the day on which was measured, not for when it was entered."""

    @pytest.fixture
    def correction(self, two_visits, taken_up, signed, contractor, firm, sweep_of, bore):
        signed(taken_up)
        taken_up.refresh_from_db()
        visit = correct_visit(taken_up, made_by=contractor, firm=firm, reason="a slip")
        return sweep_of(bore, 11, 0, visit=visit, corrects=two_visits[1])

    def test_the_series_shows_the_corrected_value_on_the_day_of_the_visit(self, page, correction):
        alt = page().context["alt"]
        assert "over 2 visits" in alt
        assert "5 Mar 2025 as found 0.0110 mm, as left 0.0030 mm" in alt

    def test_the_value_it_replaced_stands_in_no_list(self, client, page, correction, bore):
        page()
        values = {round(float(row["value, µm"]), 6) for row in read_csv(client, bore)}
        assert values == {4, 11, 3}


def test_the_page_costs_the_same_however_long_the_history(
    page, sweep_of, bore, django_assert_max_num_queries
):
    sweep_of(bore)
    with django_assert_max_num_queries(30) as short:
        page()
    for day in range(1, 29):
        sweep_of(bore, made_at=at(day))
    with django_assert_max_num_queries(len(short)):
        response = page()
    assert len(response.context["table"].paginated_rows) == 25
