"""The parts register: entering, stock, lists in and out, and what to bring."""

from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from machines.drive.inspecting import inspect_belt
from machines.drive.models import Part
from machines.drive.parts.part_list import read_list
from machines.planning.bring import to_bring
from machines.visit_work.services import add_machine_to_visit
from tests import factories

PART = {"number": "B-1", "description": "belt", "minimum": 0, "on_shelf": 0, "in_van": 0}


def send(client, person, name, typed, *args):
    client.force_login(person)
    return client.post(reverse(f"machines:{name}", args=args), typed)


def test_an_owner_puts_a_part_on_record(client, owner, shop):
    send(client, owner, "new_part", PART | {"keeper": f"shop-{shop.pk}", "price": "48.50"})
    assert Part.objects.get(number="B-1").price == Decimal("48.50")


@pytest.mark.parametrize(
    ("typed", "field"),
    [({"price": "48.505"}, "price"), ({"price": "-1"}, "__all__"), ({"number": "GB-60"}, "number")],
)
def test_what_cannot_be_is_refused(client, owner, shop, machine, typed, field):
    response = send(client, owner, "new_part", PART | {"keeper": f"shop-{shop.pk}"} | typed)
    assert field in response.context["form"].errors


def test_an_operator_writes_in_no_register(client, operator):
    assert send(client, operator, "new_part", PART).status_code == 403


def test_another_firms_part_is_not_there(client, contractor):
    elsewhere = factories.PartFactory(shop=None, firm=factories.FirmFactory())
    assert send(client, contractor, "edit_part", PART, elsewhere.pk).status_code == 404


def test_a_list_says_what_becomes_of_each_line():
    known = {"A": Part(number="A", description="belt", price=Decimal("5.00"))}
    text = "number,description,price\nA,belt,6\nB,bearing,7.5\n"
    changed, new = read_list(text, known)
    assert (changed.becomes, new.becomes) == ("changed", "new")
    assert changed.changes == [("price", Decimal("5.00"), Decimal("6.00"))]


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("A,belt,1.234", "more than two decimals"),
        ("A,belt,dear", "not a number"),
        (",belt,1", "no part number"),
        ("A,,1", "no description"),
        ("B,belt,1\nB,belt,1", "stands in line 2 already"),
    ],
)
def test_a_wrong_line_says_what_is_wrong(line, words):
    rows = read_list(f"number,description,price\n{line}\n", {})
    assert words in " ".join(wrong for row in rows for wrong in row.wrong)


@pytest.mark.parametrize("text", ["", "number,description\n", "number,price\nA,1\n"])
def test_a_list_that_is_none_is_refused(text):
    with pytest.raises(ValueError, match=r"empty|lacks"):
        read_list(text, {})


def test_a_list_is_shown_first_and_brought_in_after(client, owner, shop):
    text = "number,description,price,in van\nC-9,collet,120,2\n"
    keeper = {"keeper": f"shop-{shop.pk}"}
    file = SimpleUploadedFile("parts.csv", text.encode())
    shown = send(client, owner, "import_parts", keeper | {"file": file})
    assert "new" in shown.content.decode()
    assert not Part.objects.filter(number="C-9").exists()
    send(client, owner, "import_parts", keeper | {"text": text, "confirmed": "yes"})
    part = Part.objects.get(number="C-9")
    assert (part.price, part.in_van, part.shop) == (Decimal("120.00"), 2, shop)


def test_what_is_taken_out_can_be_brought_in_again(client, owner, shop, machine):
    client.force_login(owner)
    text = client.get(reverse("machines:parts"), {"_export": "csv"}).content.decode()
    rows = read_list(text, {part.number: part for part in Part.objects.all()})
    assert [row.becomes for row in rows] == ["as it was"]


def test_open_advice_says_what_to_bring(machine, operator, visit):
    belt = machine.belts.get(name="guide bushing belt")
    belt.part.on_shelf = 1
    belt.part.save()
    inspect_belt(belt=belt, made_by=operator, teeth={1: "worn", 2: "worn"})
    add_machine_to_visit(visit, machine)
    (line,) = to_bring(visit)
    assert (line.part, line.quantity, line.from_shelf, line.to_order) == (belt.part, 1, 1, 0)


def test_a_list_of_parts_costs_the_same_however_long(
    client, owner, shop, django_assert_max_num_queries
):
    for _ in range(12):
        factories.PartFactory(shop=shop)
    client.force_login(owner)
    with django_assert_max_num_queries(6):
        client.get(reverse("machines:parts"))
