"""Setting up stations and acceptance sheets in the admin."""

from decimal import Decimal

import pytest
from django.urls import reverse

from alignment.sheets.models import AcceptanceItem, AcceptanceSheet
from machines.register.models import Station
from tests.factories import MachineFactory, UserFactory, five_station_machine, station_of


@pytest.fixture
def keeper(client, db):
    """A browser in which somebody who keeps the site is signed in."""
    client.force_login(UserFactory(is_staff=True, is_superuser=True))
    return client


def errors(response):
    return response.context["adminform"].form.errors


class TestStations:
    @pytest.fixture
    def change(self, keeper, machine):
        def post(kind, **said):
            station = station_of(machine, kind)
            data = {
                "machine": station.machine_id,
                "name": station.name,
                "kind": station.kind,
                "position": station.position,
                "datum": station.datum_id or "",
                "how": "",
            }
            address = reverse("admin:machines_station_change", args=[station.pk])
            return keeper.post(address, data | said)

        return post

    def test_a_station_is_made(self, keeper, shop):
        machine = MachineFactory(shop=shop)
        data = {"machine": machine.pk, "name": "headstock spindle", "kind": "headstock"}
        keeper.post(reverse("admin:machines_station_add"), data | {"position": 1, "datum": ""})
        assert Station.objects.get(machine=machine).datum is None

    def test_a_station_is_measured_from_another_of_its_machine(self, change, machine):
        headstock = station_of(machine, "headstock")
        assert change("sub-spindle", datum=headstock.pk).status_code == 302
        assert station_of(machine, "sub-spindle").datum == headstock

    def test_a_datum_of_another_machine_is_refused(self, change, shop):
        other = station_of(five_station_machine(shop, number="M2"), "headstock")
        assert "belongs to machine M2" in errors(change("sub-spindle", datum=other.pk))["datum"][0]

    @pytest.mark.parametrize("datum", ["sub-spindle", "back tools", "guide bushing"])
    def test_a_datum_that_runs_in_a_circle_is_refused(self, change, machine, datum):
        response = change("guide bushing", datum=station_of(machine, datum).pk)
        assert "itself measured from this station" in errors(response)["datum"][0]

    def test_a_second_datum_of_all_is_refused(self, change):
        assert "Only the first station has no datum" in str(errors(change("sub-spindle", datum="")))

    def test_a_station_stays_with_its_machine(self, change, shop):
        other = MachineFactory(shop=shop)
        response = change("headstock", machine=other.pk)
        assert "stays with its machine" in errors(response)["machine"][0]


class TestSheets:
    @pytest.fixture
    def save(self, keeper, machine):
        """Saves the machine's sheet with one more line, or the first line changed."""
        sheet = machine.sheets.get()

        def post(index=6, **line):
            items = list(sheet.items.order_by("position"))
            data = {"machine": machine.pk, "name": sheet.name, "is_current": "on", "dated": ""}
            data |= {"items-TOTAL_FORMS": max(6, index + 1), "items-INITIAL_FORMS": 6}
            for n, item in enumerate(items):
                data |= _line(n, item)
            data |= {f"items-{index}-{name}": value for name, value in line.items()}
            address = reverse("admin:alignment_acceptancesheet_change", args=[sheet.pk])
            return keeper.post(address, data)

        return post

    @pytest.fixture
    def line(self, machine):
        return {
            "position": 9,
            "station": station_of(machine, "back tools").pk,
            "name": "second bore",
            "quantity": "offset",
            "surface": "bore",
            "lower_um": "",
            "upper_um": "0.0005 in",
            "factory_um": "3",
        }

    def test_a_line_takes_lengths_as_people_type_them(self, save, line):
        assert save(**line).status_code == 302
        item = AcceptanceItem.objects.get(name="second bore")
        assert (item.upper_um, item.factory_um) == (Decimal("12.7"), Decimal(3))

    @pytest.mark.parametrize(
        ("wrong", "said"),
        [
            ({"upper_um": "wide"}, "does not start with a number"),
            ({"upper_um": "-1"}, "must be above zero"),
            ({"quantity": "up", "lower_um": "9", "upper_um": "8"}, "above the lower one"),
        ],
    )
    def test_a_wrong_line_is_refused(self, save, line, wrong, said):
        response = save(**line | wrong)
        assert response.status_code == 200
        assert said in response.text

    def test_a_station_of_another_machine_is_refused(self, save, line, shop):
        other = station_of(five_station_machine(shop, number="M2"), "headstock")
        response = save(**line | {"station": other.pk})
        assert "belongs to machine M2" in response.text

    def test_a_line_that_was_not_signed_for_can_be_changed(self, save):
        assert save(index=1, upper_um="11").status_code == 302

    def test_a_line_that_a_signed_check_was_held_against_stays(
        self, save, sweep_of, bore, taken_up, signed
    ):
        sweep_of(bore)
        signed(taken_up)
        response = save(index=1, upper_um="11")
        assert "A signed check was held against this line" in response.text

    def test_a_second_sheet_in_force_is_refused(self, keeper, machine):
        data = {"machine": machine.pk, "name": "rebuild", "is_current": "on", "dated": ""}
        data |= {"items-TOTAL_FORMS": 0, "items-INITIAL_FORMS": 0}
        response = keeper.post(reverse("admin:alignment_acceptancesheet_add"), data)
        assert "Another sheet of this machine is in force" in response.text
        assert AcceptanceSheet.objects.count() == 1


def _line(n, item):
    values = {
        "id": item.pk,
        "sheet": item.sheet_id,
        "position": item.position,
        "station": item.station_id,
        "name": item.name,
        "quantity": item.quantity,
        "surface": item.surface,
        "lower_um": "" if item.lower_um is None else f"{item.lower_um.normalize():f} µm",
        "upper_um": f"{item.upper_um.normalize():f} µm",
        "factory_um": f"{item.factory_um.normalize():f} µm",
    }
    return {f"items-{n}-{name}": value for name, value in values.items()}
