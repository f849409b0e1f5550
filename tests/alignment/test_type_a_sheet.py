"""Typing an acceptance sheet."""

from decimal import Decimal

import pytest
from django.urls import reverse

from alignment.sheets.lines import exact_text
from alignment.sheets.models import AcceptanceItem
from shop.lengths import parse_length
from tests.factories import station_of


@pytest.fixture
def address(machine):
    return reverse("alignment:new_sheet", args=[machine.pk])


@pytest.fixture
def send(at_work, address, machine):
    """Sends a sheet with one line at the guide bushing, changed as told, and an empty one."""
    station = station_of(machine, "guide bushing").pk

    def post(more=None, **line):
        full = {"station": station, "name": "bore", "quantity": "offset", "surface": "bore"}
        full |= {"lower": "", "upper": "0.010", "factory": ""} | line
        blank = full | dict.fromkeys(("name", "lower", "upper", "factory", "at", "nominal"), "")
        data = {"name": "after rebuild", "lines-TOTAL_FORMS": 2, "lines-INITIAL_FORMS": 0}
        for number, one in enumerate([full, blank]):
            data |= {f"lines-{number}-{name}": value for name, value in one.items()}
        return at_work.post(address, data | (more or {}))

    return post


def test_a_typed_sheet_is_saved_with_who_typed_it(send, machine, contractor):
    send({"in_force": "on", "dated": "2025-03-04"})
    sheet = machine.sheets.get(is_current=True)
    assert (sheet.name, sheet.made_by, sheet.items.count()) == ("after rebuild", contractor, 1)


def test_where_an_offset_counts_and_where_a_flat_stands_are_typed(send, machine):
    send(at="120")
    send({"name": "once more"}, quantity="up", surface="flat", lower="-0.01", nominal="5")
    typed = AcceptanceItem.objects.exclude(sheet__name="factory sheet").order_by("pk")
    assert [(item.at_mm, item.nominal_um) for item in typed] == [
        (Decimal(120), Decimal(0)),
        (None, Decimal(5000)),
    ]


def test_a_sheet_that_starts_from_another_takes_over_both(at_work, address, machine, send):
    send(at="120", factory="0")
    sheet = machine.sheets.get(name="after rebuild")
    (line,) = at_work.get(address, {"from": sheet.pk}).context["lines"]
    assert [line[name].value() for name in ("at", "nominal", "factory")] == ["120", "", "0"]


def test_the_sheet_before_is_kept(send, machine):
    send({"in_force": "on"})
    assert not machine.sheets.get(name="factory sheet").is_current


def test_a_sheet_may_be_kept_without_being_put_in_force(send, machine):
    send()
    assert machine.sheets.get(is_current=True).name == "factory sheet"


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ({"upper": "0"}, "expected a length above zero"),
        ({"upper": "-0.01"}, "expected a length above zero"),
        ({"upper": "ten"}, "does not start with a number"),
        ({"at": "far"}, "does not start with a number"),
        ({"quantity": "tir", "at": "120"}, "Only an offset in a bore or on a boss"),
        ({"nominal": "5"}, "Only a flat stands off the axis"),
        ({"name": ""}, "Say what is measured."),
        ({"name": "=1+1"}, "begins like a formula"),
        ({"station": "0"}, "Select a valid choice"),
    ],
)
def test_a_wrong_line_is_refused_at_its_box(send, machine, line, said):
    assert said in send(**line).text
    assert machine.sheets.count() == 1


def test_what_was_typed_stays(send):
    assert 'value="ten"' in send(upper="ten").text


def test_a_sheet_without_lines_is_refused(send, machine):
    assert "Type at least one line." in send(name="", upper="").text
    assert machine.sheets.count() == 1


def test_more_lines_save_nothing_and_keep_what_was_typed(send, machine):
    page = send({"more": "lines"}, upper="ten")
    assert (len(page.context["lines"].forms), machine.sheets.count()) == (5, 1)
    assert "Not saved yet" not in page.text
    assert 'value="ten"' in page.text


def test_a_fresh_page_has_a_line_for_each_station(at_work, address):
    assert len(at_work.get(address).context["lines"].forms) == 5


def test_a_sheet_starts_from_one_that_is_there(at_work, address, machine):
    page = at_work.get(address, {"from": machine.sheets.get().pk})
    assert [form["upper"].value() for form in page.context["lines"]][:2] == ["0.005", "0.01"]


@pytest.mark.parametrize("unit", ["in", "mm", "um"])
@pytest.mark.parametrize("value_um", ["12.7", "10", "0.0001", "-15.24", "33.3333"])
def test_a_copied_length_reads_back_exactly(unit, value_um):
    assert parse_length(exact_text(Decimal(value_um), unit), unit) == Decimal(value_um)


def test_lengths_typed_in_inches_are_exact(send, contractor, machine):
    contractor.length_unit = "in"
    contractor.save()
    send(upper=".0005")
    assert AcceptanceItem.objects.get(sheet__name="after rebuild").upper_um == Decimal("12.7")


@pytest.mark.parametrize(("role", "status"), [("operator", 403), ("stranger", 404)])
def test_only_owner_and_contractor_type_a_sheet(client, request, address, role, status):
    client.force_login(request.getfixturevalue(role))
    assert client.get(address).status_code == status
