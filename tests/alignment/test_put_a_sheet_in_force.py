"""Several sheets of a machine, one of them in force."""

import pytest
from django.urls import reverse

from alignment.sweeps.services import save_check
from shop.web.errors import Refused
from tests.factories import AcceptanceItemFactory, AcceptanceSheetFactory, station_of, typed_sweep


@pytest.fixture
def rebuilt(machine):
    """A sheet made after a rebuild, kept but not in force."""
    sheet = AcceptanceSheetFactory(machine=machine, name="after rebuild", is_current=False)
    AcceptanceItemFactory(sheet=sheet, station=station_of(machine, "guide bushing"))
    return sheet


@pytest.fixture
def put(at_work, rebuilt):
    return lambda: at_work.post(reverse("alignment:put_sheet_in_force", args=[rebuilt.pk]))


def test_it_takes_the_place_of_the_one_before(put, machine, rebuilt):
    put()
    assert machine.sheets.get(is_current=True) == rebuilt


def test_what_is_measured_is_held_against_the_new_sheet_from_then_on(
    put, bore, taken_up, contractor
):
    put()
    bore.refresh_from_db()
    with pytest.raises(Refused, match="no longer in force"):
        save_check(
            visit=taken_up,
            item=bore,
            phase="as found",
            sweep=typed_sweep(3),
            made_by=contractor,
        )


def test_a_sheet_without_lines_is_not_put_in_force(put, machine, rebuilt):
    rebuilt.items.all().delete()
    put()
    assert machine.sheets.get(is_current=True) != rebuilt


def test_looking_at_the_address_changes_nothing(at_work, rebuilt):
    address = reverse("alignment:put_sheet_in_force", args=[rebuilt.pk])
    assert at_work.get(address).status_code == 405


@pytest.mark.parametrize(("role", "status"), [("operator", 403), ("stranger", 404)])
def test_only_owner_and_contractor_put_in_force(client, request, rebuilt, role, status):
    client.force_login(request.getfixturevalue(role))
    address = reverse("alignment:put_sheet_in_force", args=[rebuilt.pk])
    assert client.post(address).status_code == status


def test_all_sheets_are_listed_the_one_in_force_first(at_work, machine, rebuilt):
    rows = at_work.get(reverse("alignment:sheets", args=[machine.pk])).context["table"].rows
    said = [[row.get_cell(name) for name in ("is_current", "lines")] for row in rows]
    assert said == [["in force", 6], ["kept", 1]]


def test_the_list_is_taken_out_as_csv(at_work, machine, rebuilt):
    address = reverse("alignment:sheets", args=[machine.pk])
    assert "after rebuild" in at_work.get(address, {"_export": "csv"}).text


def test_a_stranger_sees_no_sheets(client, stranger, machine, rebuilt):
    client.force_login(stranger)
    addresses = [
        reverse("alignment:sheets", args=[machine.pk]),
        reverse("alignment:one_sheet", args=[rebuilt.pk]),
    ]
    assert {client.get(address).status_code for address in addresses} == {404}
