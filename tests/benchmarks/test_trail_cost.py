"""What the trail costs: a write with it against one without; and how fast it is verified.

Run with ``pytest tests/benchmarks/test_trail_cost.py --benchmark-enable --benchmark-only -s -n 0``;
the ratios and rows a second are printed.
"""

import time

import pytest
from django.db import connection
from django.utils import timezone

from machines.drive.models import Part
from shop.audit.models import ChainLink, Change
from shop.records.triggers.syncing import create_triggers, drop_triggers
from shop.records.verifying import chain_troubles, row_troubles
from shop.sandbox.synthetic_data import Asked
from shop.visits.models import SignedRecord, Visit
from tests.benchmarks.conftest import database

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module", autouse=True)
def _database_of_its_own(django_db_setup, django_db_blocker):
    """Of one machine; each test undoes what it did."""
    with django_db_blocker.unblock(), database("one-machine-10", ONE_MACHINE):
        yield


ROWS = 2000
ONE_MACHINE = Asked(1, years=10, visits_a_year=1)


def parts(shop):
    count = Part.objects.count()
    return [
        Part(shop=shop, number=f"B-{count + n}", description="belt of eighty teeth", on_shelf=n % 9)
        for n in range(ROWS)
    ]


def enter_parts(shop):
    Part.objects.bulk_create(parts(shop))


def enter_one_by_one(shop):
    for part in parts(shop)[: ROWS // 10]:
        part.save()


def change_parts(shop):
    Part.objects.filter(shop=shop).update(in_van=timezone.now().microsecond % 30_000)


def sign_records(visit):
    first = SignedRecord.objects.count()
    SignedRecord.objects.bulk_create(
        SignedRecord(visit=visit, position=first + n, name=f"record {n}", digest="0" * 64)
        for n in range(ROWS)
    )
    connection.check_constraints()


def seconds(work, *given):
    begun = time.perf_counter()
    work(*given)
    return time.perf_counter() - begun


@pytest.mark.parametrize("work", [enter_parts, enter_one_by_one, change_parts, sign_records])
def test_a_write_with_the_trail_against_one_without(benchmark, work, shop, visit):
    given = visit if work is sign_records else shop
    Part.objects.bulk_create(parts(shop))
    taken = [seconds(work, given) for _ in range(3)]
    drop_triggers(using="default", kinds=("trail",))
    floor = [seconds(work, given) for _ in range(3)]
    create_triggers(using="default")
    benchmark.pedantic(work, args=[given], rounds=3)
    ratio = min(taken) / min(floor)
    benchmark.extra_info["ratio to a write without the trail"] = round(ratio, 2)
    print(f"\n{work.__name__}: {ratio:.1f} times a write without the trail")


def test_verifying(benchmark, visit):
    for _ in range(5):
        sign_records(visit)
    Visit.objects.filter(pk=visit.pk).update(purpose="-")
    found = benchmark.pedantic(lambda: [*chain_troubles(), *row_troubles()], rounds=1)
    assert found == []
    taken = seconds(lambda: list(chain_troubles()))
    rows = seconds(lambda: list(row_troubles()))
    links, changes = ChainLink.objects.count(), Change.objects.count()
    print(f"\n{links / taken:,.0f} links a second, {changes / rows:,.0f} rows a second")
