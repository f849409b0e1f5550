"""What changes at a shop is counted there, whoever writes it and however."""

import functools

import pytest
from django.db import connection, transaction
from django.utils import timezone

from alignment.sheets.models import AcceptanceItem
from machines.register.models import MeterReading
from shop.people.models import Shop, User
from shop.records.triggers.syncing import create_triggers, drop_triggers
from shop.snapshots import generations
from shop.snapshots.keeping import merge
from shop.snapshots.models import ChangeCounter
from shop.snapshots.triggers import stirring
from tests import factories
from tests.together import together

pytestmark = pytest.mark.django_db


def read_meter(machine):
    made_by = factories.UserFactory()
    MeterReading.objects.create(machine=machine, made_by=made_by, read_at=timezone.now(), value=12)


def all_before():
    """Transactions of lower numbers have ended, whoever else is at work on the server."""
    if connection.vendor == "sqlite":
        return 1
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_snapshot_xmin(pg_current_snapshot())::text::bigint")
        return cursor.fetchone()[0]


def generation(shop):
    return generations([shop.pk])[shop.pk]


def test_a_reading_of_a_meter_stirs_its_shop_and_no_other(machine):
    other = factories.MachineFactory()
    before, others = generation(machine.shop), generation(other.shop)
    read_meter(machine)
    assert generation(machine.shop) > before
    assert generation(other.shop) == others


def test_a_bulk_change_and_plain_sql_stir_too(machine):
    read_meter(machine)
    before = generation(machine.shop)
    with transaction.atomic():
        MeterReading.objects.update(value=7)
    after = generation(machine.shop)
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM machines_meterreading")
    assert generation(machine.shop) > after > before


def test_a_limit_deep_in_a_sheet_stirs_the_shop_of_its_machine(machine):
    before = generation(machine.shop)
    AcceptanceItem.objects.filter(sheet__machine=machine).update(upper_um=9)
    assert generation(machine.shop) > before


def test_a_person_s_new_name_stirs_every_shop_and_signing_in_none(owner, shop):
    other = factories.ShopFactory()
    before = generations([shop.pk, other.pk])
    User.objects.filter(pk=owner.pk).update(last_login="2026-01-01T00:00Z")
    assert generations([shop.pk, other.pk]) == before
    with transaction.atomic():
        User.objects.filter(pk=owner.pk).update(last_name="Marrow")
    after = generations([shop.pk, other.pk])
    assert all(after[pk] > before[pk] for pk in after)


def test_what_moves_to_another_shop_stirs_both(machine):
    here, there = machine.shop, factories.ShopFactory()
    before = generations([here.pk, there.pk])
    machine.shop = there
    machine.save()
    after = generations([here.pk, there.pk])
    assert after[here.pk] > before[here.pk]
    assert after[there.pk] > before[there.pk]


def test_every_table_of_a_shop_s_own_records_stirs_it():
    stirs = {table.model.__name__ for table in stirring()}
    assert {"Machine", "Check", "Reading", "Plan", "Visit", "ClosedDays", "Thresholds"} <= stirs
    assert not {"NumberSeries", "ReminderSent"} & stirs


@pytest.mark.django_db(transaction=True)
def test_transactions_side_by_side_are_counted_each_and_merged_without_loss():
    shop = factories.ShopFactory()
    before = generation(shop)

    def rename(number):
        Shop.objects.filter(pk=shop.pk).update(address=f"{number} Mill Lane")

    together(*(functools.partial(rename, number) for number in range(6)))
    after = generation(shop)
    assert after >= before + 6
    settled = all_before()
    merge([shop.pk])
    assert generation(shop) == after
    apart = ChangeCounter.objects.filter(shop_id=shop.pk, xact__gt=0)
    assert not apart.filter(xact__lt=settled).exists()


@pytest.mark.django_db(transaction=True)
def test_what_was_undone_counts_for_nothing():
    shop = factories.ShopFactory()
    before = generation(shop)
    with transaction.atomic():
        Shop.objects.filter(pk=shop.pk).update(address="1 Mill Lane")
        transaction.set_rollback(True)
    assert generation(shop) == before


@pytest.mark.django_db(transaction=True)
def test_put_on_again_the_triggers_stay_and_taken_off_they_come_back(machine):
    read_meter(machine)
    before = generation(machine.shop)
    drop_triggers(using="default", kinds=("stir",))
    MeterReading.objects.update(value=7)
    assert generation(machine.shop) == before
    create_triggers(using="default")
    MeterReading.objects.update(value=8)
    assert generation(machine.shop) > before
