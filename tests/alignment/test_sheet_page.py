"""The acceptance sheet in force."""

import csv
import io
from decimal import Decimal

import pytest
from django.urls import reverse

from alignment.sheets.formatting import limits
from alignment.sheets.models import AcceptanceItem
from tests.factories import AcceptanceItemFactory, item_of


@pytest.fixture
def page(client, owner, machine):
    client.force_login(owner)
    return lambda: client.get(reverse("alignment:sheet", args=[machine.pk]))


def test_each_line_leads_to_its_item(page, machine):
    text = page().text
    for item in machine.sheets.get().items.all():
        assert f'href="{item.get_absolute_url()}">{item.name}</a>' in text


def test_lines_stand_in_checking_order(page):
    stations = [row.record.station.position for row in page().context["table"].rows]
    assert stations == [1, 2, 3, 4, 5, 5]


def test_the_csv_file_holds_every_line_in_micrometres(client, page, machine):
    page()
    address = reverse("alignment:sheet", args=[machine.pk])
    rows = list(csv.DictReader(io.StringIO(client.get(address, {"_export": "csv"}).text)))
    gang = rows[-1]
    assert len(rows) == 6
    assert (gang["Lower limit"], gang["Upper limit"]) == ("-15.0000", "15.0000")


def test_what_no_line_says_has_no_column_on_the_page_but_one_in_the_file(client, page, machine):
    assert "Asked for at" not in page().text
    item = item_of(machine, "sub-spindle")
    item.at_mm = Decimal("120")
    item.save()
    assert "Asked for at" in page().text
    assert "120 mm" in page().text
    assert "Flat stands" not in page().text
    address = reverse("alignment:sheet", args=[machine.pk])
    assert "Flat stands from the axis by" in client.get(address, {"_export": "csv"}).text


def test_lengths_stand_in_the_person_s_unit(page, owner):
    owner.length_unit = "in"
    owner.save()
    assert "0.00039 in" in page().text


def test_a_machine_without_a_sheet_in_force_says_what_to_do(page, machine):
    machine.sheets.update(is_current=False)
    assert "No acceptance sheet is in force" in page().text


def test_the_page_costs_the_same_however_many_lines(page, machine, django_assert_max_num_queries):
    with django_assert_max_num_queries(20) as few:
        page()
    station = item_of(machine, "sub-spindle").station
    for position in range(20, 40):
        AcceptanceItemFactory(sheet=machine.sheets.get(), station=station, position=position)
    with django_assert_max_num_queries(len(few)):
        page()


@pytest.mark.parametrize(
    ("lower", "upper", "said"),
    [
        (None, "10", "up to 0.01 mm"),
        ("-5", None, "from -0.005 mm"),
        ("-15", "15", "± 0.015 mm"),
        ("-5", "15", "-0.005 mm to 0.015 mm"),
    ],
)
def test_limits_in_words(lower, upper, said):
    item = AcceptanceItem(
        lower_um=None if lower is None else Decimal(lower),
        upper_um=None if upper is None else Decimal(upper),
    )
    assert limits(item, "mm") == said
