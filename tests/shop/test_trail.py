"""Every change of every record is trailed: who, when, from what to what."""

import json
import re
from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import IntegrityError, connection, transaction
from django.db.models.functions import Now
from django.urls import reverse
from django.utils import timezone

from machines.drive.models import Part
from shop.audit.actor import acting
from shop.audit.models import Change
from shop.audit.tables import key_of, trailed
from shop.billing.models import Charge
from shop.billing.services import add_charge, issue_statement, remove_charge
from shop.people.models import Invitation, Shop, User
from shop.record import our_models, rules_of
from shop.visits.clock import enter_spell, remove_spell
from shop.visits.models import Signature, Visit
from shop.visits.services import note_come_back, sign_visit
from tests import factories
from tests.pages import tight

# A column whose name smells of a secret is left out of the trail, or named here as none.
SMELLS = re.compile(r"passw|secret|token|\bpin\b|_pin|digest|key|hash|otp|seed|sha256|salt|backup")
NO_SECRETS = {
    ("SignedRecord", "digest"),
    ("Firm", "logo_sha256"),
    ("IncidentPhoto", "sha256"),
    ("FindingPhoto", "sha256"),
    ("ToothPhoto", "sha256"),
    ("Document", "sha256"),
    ("Document", "content_sha256"),
    ("SheetScan", "sha256"),
    ("ReminderSent", "key"),
}


pytestmark = pytest.mark.django_db


def changes_of(record):
    return list(Change.objects.filter(record=key_of(record)).order_by("pk"))


def said(text):
    return json.loads(text)


def signature_of(visit):
    return Signature.objects.create(
        visit=visit, party="customer", name="Ada", role="owner", signed_at=timezone.now()
    )


def test_an_entered_part_is_on_the_trail_with_all_it_says(shop):
    part = Part.objects.create(shop=shop, number="B-1", description="belt", price=Decimal("12.50"))

    (change,) = changes_of(part)

    assert change.kind == "added"
    assert change.before is None
    assert said(change.after)["number"] == "B-1"
    assert Decimal(str(said(change.after)["price"])) == Decimal("12.50")
    # The tests set SQLite's clock with their own; PostgreSQL keeps its own.
    its_own = Part.objects.annotate(asked_at=Now()).get(pk=part.pk).asked_at
    now = timezone.now() if connection.vendor == "sqlite" else its_own
    assert abs(now - change.at) < timedelta(minutes=1)


def test_a_change_says_only_what_became_of_what(shop):
    part = Part.objects.create(shop=shop, number="B-1", description="belt", on_shelf=3)

    Part.objects.filter(pk=part.pk).update(on_shelf=2)

    change = changes_of(part)[-1]
    assert (said(change.before), said(change.after)) == ({"on_shelf": 3}, {"on_shelf": 2})


def test_saving_what_is_there_already_is_no_change(shop):
    part = Part.objects.create(shop=shop, number="B-1", description="belt")

    part.save()

    assert len(changes_of(part)) == 1


def test_what_is_removed_is_kept_on_the_trail(shop):
    part = Part.objects.create(shop=shop, number="B-1", description="belt")
    key = key_of(part)

    part.delete()

    change = Change.objects.get(record=key, kind="removed")
    assert said(change.before)["description"] == "belt"
    assert change.after is None


def test_a_bulk_write_and_plain_sql_are_on_the_trail_too(shop):
    Part.objects.bulk_create(Part(shop=shop, number=f"B-{n}", description="belt") for n in range(3))
    with connection.cursor() as cursor:
        cursor.execute("UPDATE machines_part SET minimum = 5 WHERE number = 'B-1'")

    assert Change.objects.filter(record__startswith="machines_part:", kind="added").count() == 3
    change = Change.objects.get(kind="changed", record__startswith="machines_part:")
    assert said(change.after) == {"minimum": 5}


def test_the_person_of_a_request_is_named(client, shop, owner):
    part = Part.objects.create(shop=shop, number="B-1", description="belt")
    client.force_login(owner)

    client.post(
        reverse("machines:edit_part", args=[part.pk]),
        {
            "number": "B-1",
            "description": "belt, 40 teeth",
            "minimum": 0,
            "on_shelf": 0,
            "in_van": 0,
        },
    )

    change = changes_of(part)[-1]
    assert said(change.after) == {"description": "belt, 40 teeth"}
    assert change.who == owner
    assert change.via == ""
    assert re.fullmatch("[0-9a-f]{32}", change.request_id)


def test_a_command_names_itself(shop):
    with acting(via="manage.py remind"):
        shop.name = "Alder Works"
        shop.save()

    change = changes_of(shop)[-1]
    assert (change.who, change.via) == (None, "manage.py remind")


def test_who_is_at_work_is_not_carried_into_the_next_change(shop, owner):
    with acting(who=owner.pk):
        Shop.objects.filter(pk=shop.pk).update(name="First")
    Shop.objects.filter(pk=shop.pk).update(name="Second")

    first, second = changes_of(shop)[-2:]
    assert first.who == owner
    assert second.who is None
    assert second.via


def test_who_is_named_survives_a_change_taken_back(shop, owner):
    with acting(who=owner.pk):
        with transaction.atomic():
            Shop.objects.filter(pk=shop.pk).update(name="First")
            transaction.set_rollback(True)
        Shop.objects.filter(pk=shop.pk).update(name="Second")

    changes = [one for one in changes_of(shop) if one.kind == "changed"]
    assert [(said(one.after)["name"], one.who) for one in changes] == [("Second", owner)]


@pytest.mark.parametrize("table", ["shop_change", "shop_chainlink", "shop_chainhead"])
@pytest.mark.parametrize("sql", ["DELETE FROM {}", "UPDATE {} SET id = id + 1000"])
def test_the_trail_and_its_chain_are_only_added_to(visit, table, sql):
    signature_of(visit)
    connection.check_constraints()
    if table == "shop_chainlink":
        sql = sql.replace("id", "seq")

    with (
        pytest.raises(IntegrityError, match="the trail of changes is only added to"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(sql.format(table))


def test_every_table_of_the_project_is_trailed_or_exempt_with_a_reason():
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("SELECT tbl_name FROM sqlite_master WHERE name LIKE 'trail_%_INSERT'")
        else:
            cursor.execute(
                "SELECT tgrelid::regclass::text FROM pg_trigger WHERE tgname = 'trail_note'"
            )
        with_triggers = {name for (name,) in cursor.fetchall()}

    for model in our_models():
        reason = rules_of(model).untrailed
        assert (model._meta.db_table in with_triggers) != (len(reason) > 10), model


def test_no_column_that_smells_of_a_secret_is_kept():
    smelling = {
        (table.model.__name__, column)
        for table in trailed().values()
        for column in table.columns
        if SMELLS.search(column)
    }

    assert smelling <= NO_SECRETS, "leave it out (`left_out`), or name it as no secret"


def test_a_password_leaves_no_trace_on_the_trail(shop):
    user = User.objects.create_user("secretive", password="brass-drift-7")
    user.set_password("another-drift-8")
    user.save()

    changes = changes_of(user)

    assert [one.kind for one in changes] == ["added"]
    assert "password" not in said(changes[0].after)


def test_every_record_is_read_on_its_own_page_or_leads_up_to_one():
    def leads_to_a_page(table, seen=()):
        if trailed()[table].has_page:
            return True
        ways = [whole for _, whole in trailed()[table].parts_of if whole not in seen]
        return any(leads_to_a_page(whole, (*seen, table)) for whole in ways)

    lost = [table for table in trailed() if not leads_to_a_page(table)]

    assert lost == []


def test_what_was_removed_of_a_visit_is_read_on_the_visit_s_page(client, visit, contractor):
    began = timezone.now() - timedelta(hours=2)
    spell = enter_spell(
        visit=visit,
        who=contractor,
        kind="work",
        began_at=began,
        ended_at=began + timedelta(hours=1),
        distance=None,
        made_by=contractor,
    )
    remove_spell(spell)
    client.force_login(contractor)

    page = client.get(reverse("shop:changes", args=["shop", "visit", visit.pk]))

    assert "Work spell no." in page.text
    assert "removed" in page.text


def page_of(client, user, record):
    client.force_login(user)
    meta = record._meta
    return client.get(reverse("shop:changes", args=[meta.app_label, meta.model_name, record.pk]))


def test_the_page_says_from_what_to_what_in_words(client, visit, contractor):
    visit.state = Visit.State.ON_SITE
    visit.arrived_at = timezone.now()
    visit.save()

    page = page_of(client, contractor, visit)

    assert re.search(r"State</strong>:<del>planned</del>.*<ins>on site</ins>", tight(page.text))
    assert re.search(r"Arrived at</strong>: <del>nothing</del>", page.text)


def test_lengths_are_told_in_the_reader_s_unit(client, machine, owner):
    sheet = machine.sheets.get(is_current=True)
    item = sheet.items.first()
    item.upper_um = Decimal("25.4")
    item.save()
    owner.length_unit = "in"
    owner.save()

    page = page_of(client, owner, sheet)

    assert "<ins>0.00100 in</ins>" in page.text or "<ins>0.001 in</ins>" in page.text


def test_strangers_do_not_find_the_page(client, visit, stranger):
    assert page_of(client, stranger, visit).status_code == 404


@pytest.mark.parametrize(
    ("app", "model"), [("shop", "user"), ("shop", "nothing"), ("auth", "group")]
)
def test_only_records_that_people_see_have_the_page(client, owner, app, model):
    client.force_login(owner)

    assert client.get(reverse("shop:changes", args=[app, model, owner.pk])).status_code == 404


def test_an_operator_reads_nothing_of_a_visit_s_charges(client, visit, contractor, operator):
    tax = factories.TaxCategoryFactory(firm=visit.firm)
    charge = add_charge(
        visit, made_by=contractor, text="Secret discount talk", price=Decimal(5), tax=tax
    )
    remove_charge(charge)

    assert "Secret discount talk" in page_of(client, contractor, visit).text
    assert "Secret discount talk" not in page_of(client, operator, visit).text
    assert Charge.objects.count() == 0


def test_an_operator_reads_nothing_of_who_was_invited(client, shop, owner, operator):
    Invitation.objects.create(
        shop=shop,
        role="operator",
        email="new.hand@example.org",
        made_by=owner,
        expires_at=timezone.now() + timedelta(days=1),
    )

    assert "new.hand@example.org" in page_of(client, owner, shop).text
    assert "new.hand@example.org" not in page_of(client, operator, shop).text


def test_nor_of_its_statement(client, visit, contractor, operator):
    tax = factories.TaxCategoryFactory(firm=visit.firm)
    add_charge(visit, made_by=contractor, text="Travel", price=Decimal(5), tax=tax)
    note_come_back(visit, "nothing was looked at")
    sign_visit(visit, contractor=("Cy", "contractor"), customer=("Ada", "owner"))
    statement = issue_statement(visit, made_by=contractor)

    assert "Travel" in page_of(client, contractor, statement).text
    assert page_of(client, operator, statement).status_code == 404
    assert str(statement.number) not in page_of(client, operator, visit).text


def test_whoever_runs_the_site_reads_the_whole_trail_and_changes_nothing(admin_client, owner):
    User.objects.filter(pk=owner.pk).update(email="o@example.org")
    change = changes_of(owner)[-1]

    found = admin_client.get("/admin/shop/change/", {"q": key_of(owner)})

    assert f"/admin/shop/change/{change.pk}/change/" in found.text
    assert admin_client.get(f"/admin/shop/change/{change.pk}/change/").status_code == 200
    assert admin_client.get("/admin/shop/change/add/").status_code == 403
    assert admin_client.post(f"/admin/shop/change/{change.pk}/delete/").status_code == 403


def test_the_list_goes_out_as_csv(client, visit, contractor):
    Visit.objects.filter(pk=visit.pk).update(purpose="=1+1")
    client.force_login(contractor)

    answer = client.get(
        reverse("shop:changes", args=["shop", "visit", visit.pk]), {"_export": "csv"}
    )

    assert answer["Content-Type"].startswith("text/csv")
    assert "→ =1+1" in answer.text


def queries_for(client, visit, django_assert_max_num_queries, changes):
    for number in range(changes):
        Visit.objects.filter(pk=visit.pk).update(purpose=f"purpose {number}")
    with django_assert_max_num_queries(12) as found:
        client.get(reverse("shop:changes", args=["shop", "visit", visit.pk]))
    return len(found)


def test_the_page_takes_as_many_queries_for_3_changes_as_for_30(
    client, visit, contractor, django_assert_max_num_queries
):
    client.force_login(contractor)

    few = queries_for(client, visit, django_assert_max_num_queries, 3)
    many = queries_for(client, visit, django_assert_max_num_queries, 30)

    assert many <= few
