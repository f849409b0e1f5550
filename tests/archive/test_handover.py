"""A machine changes hands: its record goes along, the old shop's business does not."""

import io
import json
import zipfile

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import IntegrityError, transaction
from django.urls import reverse

from alignment.sweeps.models import Check, Reading
from machines.drive.models import Part
from machines.register.handover import hand_over, one_machine, take_over
from machines.register.models import Machine
from shop.billing.models import Statement
from shop.people.models import Role, User
from shop.record import Named
from shop.records.packing import Packer
from shop.visits.models import Visit
from shop.web.errors import Refused
from tests import factories

from .conftest import entries_of, rows_in


@pytest.fixture
def new_shop(db):
    return factories.ShopFactory(name="Linden Turning")


@pytest.fixture
def buyer(new_shop):
    user = factories.UserFactory(username="buyer")
    factories.MembershipFactory(user=user, shop=new_shop, role=Role.OWNER)
    return user


@pytest.fixture
def record(told_shop, machine):
    file = io.BytesIO()
    hand_over(machine, file)
    return file


def readings_of(machine):
    found = Reading.objects.filter(sweep__check_record__item__station__machine=machine)
    return sorted(found.values_list("typed", "angle_deg", "value_um", "unit"))


def test_every_rule_of_a_machine_s_record_leads_to_a_machine(db):
    scope = one_machine()
    for model, rule in scope.going.items():
        scope.rows_of(model, Machine(pk=1)).count()
        assert isinstance(rule, Named) or rule.way


def test_the_new_shop_has_the_same_chain_checks_and_readings(record, machine, new_shop):
    taken = take_over(record, shop=new_shop)
    assert taken.shop == new_shop
    assert readings_of(taken) == readings_of(machine) != []
    chain = list(machine.stations.values_list("name", "datum__name"))
    assert list(taken.stations.values_list("name", "datum__name")) == chain
    checks = Check.objects.filter(item__station__machine=taken)
    assert [check.verdict for check in checks] == [
        check.verdict for check in Check.objects.filter(item__station__machine=machine)
    ]
    assert taken.incidents.count() == machine.incidents.count() == 1
    assert taken.belts.count() == machine.belts.count()
    assert taken.visited.get().visit.signatures.count() == 2


def test_the_old_shop_keeps_its_record(record, machine, told_shop, new_shop):
    before = readings_of(machine)
    take_over(record, shop=new_shop)
    machine.refresh_from_db()
    assert machine.shop == told_shop
    assert readings_of(machine) == before


def test_the_machine_says_where_it_came_from(record, new_shop):
    assert "Taken over from Alder Screw Works on" in take_over(record, shop=new_shop).note


def test_authors_come_as_names_that_nobody_can_sign_in_with(record, new_shop, contractor):
    taken = take_over(record, shop=new_shop)
    author = Check.objects.filter(item__station__machine=taken).first().made_by
    assert author != contractor
    assert author.name == f"{contractor.name} (at Alder Screw Works)"
    assert not author.is_active
    assert not author.has_usable_password()
    assert not author.memberships.exists()


def test_a_firm_of_the_same_name_here_is_not_taken_for_it(record, new_shop, firm):
    taken = take_over(record, shop=new_shop)
    past = taken.visited.get().visit.firm
    assert past != firm
    assert past.name == "Oldbridge Spindle Service (at Alder Screw Works)"
    assert not past.memberships.exists()


def test_no_money_no_document_and_no_price_goes_along(record, new_shop):
    said = {name for name in entries_of(record) if name.startswith("records/")}
    for table in ("statement", "charge", "quote", "document", "payment"):
        assert f"records/shop.{table}.jsonl" not in said
    for table in ("machines.fitting", "machines.recommendationstep"):
        assert all("unit_price" not in row for row in rows_in(record, table))
    known = {"id", "shop", "number", "description", "maker"}
    assert all(set(row) == known for row in rows_in(record, "machines.part"))
    take_over(record, shop=new_shop)
    assert not Statement.objects.filter(shop=new_shop).exists()


def test_nothing_of_another_machine_goes_along(told_shop, machine):
    factories.five_station_machine(told_shop, number="M2")
    file = io.BytesIO()
    hand_over(machine, file)
    assert [row["number"] for row in rows_in(file, "machines.machine")] == ["M1"]
    assert len(rows_in(file, "machines.station")) == 5


def test_a_part_of_the_same_number_here_is_used(record, new_shop):
    here = factories.PartFactory(shop=new_shop, number="F-1", on_shelf=3)
    taken = take_over(record, shop=new_shop)
    assert {belt.part for belt in taken.belts.all()} == {here}
    assert Part.objects.get(pk=here.pk).on_shelf == 3


def test_what_was_signed_there_is_frozen_here(record, new_shop):
    visit = take_over(record, shop=new_shop).visited.get().visit
    refused = pytest.raises(IntegrityError, match="signed records do not change")
    with refused, transaction.atomic():
        Visit.objects.filter(pk=visit.pk).update(purpose="another")


def test_while_a_visit_is_under_way_it_is_not_handed_over(told_shop, machine, contractor, firm):
    visit = factories.VisitFactory(
        shop=told_shop, contractor=contractor, firm=firm, state="on site"
    )
    factories.VisitedMachineFactory(machine=machine, visit=visit)
    with pytest.raises(Refused, match="is under way at this machine; sign it first"):
        hand_over(machine, io.BytesIO())


def test_what_belongs_to_a_visit_still_planned_stays(told_shop, machine, contractor, firm):
    visit = factories.VisitFactory(shop=told_shop, contractor=contractor, firm=firm)
    factories.VisitedMachineFactory(machine=machine, visit=visit)
    file = io.BytesIO()
    hand_over(machine, file)
    assert len(rows_in(file, "machines.visitedmachine")) == 1
    assert len(rows_in(file, "shop.visit")) == 1


def test_a_number_the_shop_has_is_refused_until_another_is_given(record, new_shop):
    factories.MachineFactory(shop=new_shop, number="M1")
    with pytest.raises(Refused, match="has a machine M1 already; give this one another number"):
        take_over(record, shop=new_shop)
    assert take_over(record, shop=new_shop, number="M1b").number == "M1b"


def test_a_shop_s_archive_is_no_machine_s(told_shop, new_shop):
    file = io.BytesIO()
    packer = Packer(file)
    packer.finish(kind="sweepbook shop archive", version=1)
    with pytest.raises(Refused, match="not a sweepbook machine archive"):
        take_over(file, shop=new_shop)


def test_a_record_that_names_somebody_s_row_here_is_refused(record, new_shop, machine):
    """Numbers in the file are its own: they never reach a row that is here."""
    entries = entries_of(record)
    name = "records/machines.station.jsonl"
    rows = [json.loads(line) for line in entries[name].splitlines()]
    rows[0]["machine"] = machine.pk + 1000
    spoilt = io.BytesIO()
    packer = Packer(spoilt)
    lines = "".join(json.dumps(row) + "\n" for row in rows).encode()
    for each, content in (entries | {name: lines}).items():
        packer.add(each, [content])
    packer.finish(kind=one_machine().kind, version=one_machine().version, left="x")
    people = User.objects.count()
    with pytest.raises(Refused, match="which is not in the archive"):
        take_over(spoilt, shop=new_shop)
    assert not new_shop.machines.exists()
    assert User.objects.count() == people


def test_owner_takes_it_out_and_the_new_owner_takes_it_in(
    client, told_shop, machine, owner, buyer, new_shop
):
    client.force_login(owner)
    answer = client.post(reverse("machines:hand_over", args=[machine.pk]))
    assert answer["Content-Disposition"] == 'attachment; filename="machine-m1.zip"'
    content = b"".join(answer.streaming_content)
    client.force_login(buyer)
    page = reverse("machines:take_over", args=[new_shop.pk])
    taken = client.post(page, {"file": SimpleUploadedFile("m.zip", content)}, follow=True)
    assert "is here with its record" in taken.text
    machine = Machine.objects.get(shop=new_shop)
    assert machine.number == "M1"
    assert client.get(reverse("machines:history", args=[machine.pk])).status_code == 200
    again = client.post(page, {"file": SimpleUploadedFile("m.zip", content)})
    assert "has a machine M1 already" in again.text


@pytest.mark.parametrize("content", [b"", b"no zip", b"PK\x03\x04"])
def test_what_is_no_record_is_refused_at_the_field(client, buyer, new_shop, content):
    client.force_login(buyer)
    page = reverse("machines:take_over", args=[new_shop.pk])
    answer = client.post(page, {"file": SimpleUploadedFile("m.zip", content), "number": "Z9"})
    assert answer.status_code == 200
    assert "This is not a" in answer.text or "empty" in answer.text
    assert 'value="Z9"' in answer.text


def test_the_owner_takes_the_whole_shop_out_by_its_page(client, told_shop, owner):
    client.force_login(owner)
    page = reverse("shop:export", args=[told_shop.pk])
    assert "Passwords" in client.get(page).text
    answer = client.post(page)
    with zipfile.ZipFile(io.BytesIO(b"".join(answer.streaming_content))) as file:
        assert json.loads(file.read("manifest.json"))["shop"] == told_shop.name


@pytest.mark.parametrize("person", ["operator", "contractor"])
def test_only_the_owner_takes_anything_out_or_in(client, request, shop, machine, person):
    client.force_login(request.getfixturevalue(person))
    for page in (
        reverse("shop:export", args=[shop.pk]),
        reverse("machines:hand_over", args=[machine.pk]),
        reverse("machines:take_over", args=[shop.pk]),
    ):
        assert client.get(page).status_code == 403
        assert client.post(page).status_code == 403


def test_for_a_stranger_there_is_nothing_to_take(client, stranger, shop, machine):
    client.force_login(stranger)
    for page in (
        reverse("shop:export", args=[shop.pk]),
        reverse("machines:hand_over", args=[machine.pk]),
        reverse("machines:take_over", args=[shop.pk]),
    ):
        assert client.post(page).status_code == 404
