"""The list of machines: who sees which, what it says, how it is sorted, paged and taken out."""

import csv
import io

import pytest
from django.urls import reverse

from machines.incidents.stopping import stop_machine
from machines.visit_work.services import add_machine_to_visit
from shop.visits.services import arrive
from tests import factories

URL = reverse("machines:machines")


@pytest.fixture
def thirty(shop):
    return factories.MachineFactory.create_batch(30, shop=shop)


def test_a_stopped_machine_says_so_in_words(client, operator, machine):
    stop_machine(machine)
    client.force_login(operator)
    row = client.get(URL).context["table"].rows[0]
    assert "until looked at" in row.get_cell("standing")


def test_the_day_of_the_last_visit_is_linked_to_it(client, owner, machine, visit):
    add_machine_to_visit(visit, machine)
    arrive(visit, at=factories.at(3))
    client.force_login(owner)
    cell = client.get(URL).context["table"].rows[0].get_cell("last_visit")
    assert "3 Mar 2025" in cell
    assert visit.get_absolute_url() in cell


def test_a_planned_visit_is_no_last_visit(client, owner, machine, visit):
    add_machine_to_visit(visit, machine)
    client.force_login(owner)
    assert client.get(URL).context["table"].rows[0].record.last_visit_at is None


def test_machines_of_other_shops_do_not_appear(client, stranger, machine):
    client.force_login(stranger)
    assert machine.serial not in client.get(URL).content.decode()
    assert not client.get(URL).context["table"].rows


def test_stopped_machines_come_first_when_sorted_by_standing(client, owner, thirty):
    stop_machine(thirty[-1])
    client.force_login(owner)
    first = client.get(URL, {"sort": "standing"}).context["table"].page.object_list[0].record
    assert first == thirty[-1]


def test_the_address_does_not_make_a_page_longer(client, owner, thirty):
    client.force_login(owner)
    page = client.get(URL, {"per_page": "1000"}).context["table"].page
    assert len(page.object_list) == 25


@pytest.mark.parametrize("number", ["0", "-1", "x", "999999999999999999999"])
def test_a_page_that_is_not_there_gives_one_that_is(client, owner, thirty, number):
    client.force_login(owner)
    assert client.get(URL, {"page": number}).status_code == 200


def test_the_whole_list_is_taken_out_as_csv_with_plain_values(client, owner, thirty):
    stop_machine(thirty[3])
    client.force_login(owner)
    response = client.get(URL, {"_export": "csv"})
    head, *rows = csv.reader(io.StringIO(response.content.decode()))
    assert response["Content-Type"].startswith("text/csv")
    assert head == ["Number", "Name", "Shop", "state", "Last visit"]
    assert len(rows) == 30
    standing = {row[0]: row[3] for row in rows}
    assert standing[thirty[3].number] == "stopped until looked at"
    assert standing[thirty[4].number] == "may run"


def test_a_name_that_looks_like_a_formula_is_taken_out_as_text(client, owner, shop):
    factories.MachineFactory(shop=shop, name="=1+1")
    client.force_login(owner)
    assert "'=1+1" in client.get(URL, {"_export": "csv"}).content.decode()


@pytest.mark.parametrize("machines", [3, 24])
def test_the_list_costs_the_same_however_long(
    client, owner, shop, machines, django_assert_num_queries
):
    for machine in factories.MachineFactory.create_batch(machines, shop=shop):
        stop_machine(machine)
    client.force_login(owner)
    with django_assert_num_queries(13):  # five, two for what stands, the rest for small pictures
        client.get(URL)
