"""Every list, however sorted, parts ties by the key: no row is on two pages and none on none."""

import pytest
from django.db.models import F

from machines.register.models import Machine
from shop.web.listing import KEYS, PAGE_SIZE, with_key
from tests import factories

from .rules import CONTRACTOR, OPERATOR, OWNER
from .test_nothing_of_another_shop import opened


def tables_of(response):
    """The table of a page of the site whose rows the database sorts."""
    table = (response.context or {}).get("table")
    return [table] if table is not None and hasattr(table.data.data, "query") else []


@pytest.mark.parametrize("role", [OWNER, OPERATOR, CONTRACTOR])
def test_every_list_by_every_column_ends_in_the_key(client, world, role):
    found = 0
    for name, address, response in list(opened(client, world, role)):
        for table in tables_of(response):
            ways = [column.name for column in table.columns if column.orderable]
            for sort in ["", *ways, *(f"-{way}" for way in ways)]:
                again = client.get(address, {table.prefixed_order_by_field: sort})
                assert again.context["table"].data.data.query.order_by[-1] in KEYS, (name, sort)
                found += 1
    assert found > 20, "too few of the site's lists were found"


@pytest.mark.parametrize(
    ("order", "ends_in"),
    [
        (["model_name"], "pk"),
        (["-model_name"], "-pk"),
        (["shop__name", F("model_name").desc()], "-pk"),
        (["-pk"], "-pk"),
        (["model_name", "id"], "id"),
    ],
)
def test_the_key_goes_the_way_of_what_it_parts(order, ends_in):
    """So that one index serves both."""
    kept = with_key(Machine.objects.order_by(*order)).query.order_by
    assert kept == (*order, *([] if order[-1] == ends_in else [ends_in]))


def test_what_has_no_order_of_its_own_gets_the_usual_one_and_the_key():
    usual = tuple(Machine._meta.ordering)
    assert with_key(Machine.objects.all()).query.order_by[: len(usual)] == usual


@pytest.mark.parametrize("sort", ["shop", "-shop", "standing", "-last_visit"])
def test_forty_like_machines_stand_once_on_the_pages_of_their_list(client, shop, owner, sort):
    made = {one.pk for one in factories.MachineFactory.create_batch(2 * PAGE_SIZE + 1, shop=shop)}
    client.force_login(owner)
    seen = [
        row.record.pk
        for page in (1, 2, 3)
        for row in client.get("/machines/", {"sort": sort, "page": page}).context["table"].page
    ]
    assert sorted(seen) == sorted(made)
