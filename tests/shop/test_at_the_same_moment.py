"""What several people do at the same moment ends as if they had done it one after another.

Each person is a thread with a connection of its own, on SQLite and PostgreSQL alike.
"""

import re
from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from machines.drive.models import Fitting, Part, Removal
from machines.drive.services import fit
from machines.register.models import MeterReading
from machines.visit_work.services import read_meter
from shop.audit.models import ChainLink, Change
from shop.people.models import Membership, Role
from shop.records.verifying import chain_troubles
from shop.visits.models import SignedRecord, Visit
from shop.web.errors import Refused
from tests import factories
from tests.together import together

pytestmark = pytest.mark.django_db(transaction=True)


def test_the_chain_has_one_order_whoever_writes(visit):
    def sign_off(first):
        def deed():
            for position in range(first, first + 5):
                with transaction.atomic():
                    for half in (position, position + 1000):
                        SignedRecord.objects.create(
                            visit=visit, position=half, name=f"record {half}", digest="0" * 64
                        )

        return deed

    before = ChainLink.objects.count()

    together(*(sign_off(100 * n) for n in range(4)))

    assert ChainLink.objects.count() == before + 40
    assert list(chain_troubles()) == []


def test_writers_of_chained_records_who_touch_the_same_rows_do_not_wait_for_one_another(visit):
    """Each changes two shared rows, in the other's order, in transactions of one row each, and
    links in between: with the chain locked early, they would wait for each other."""

    def deed(order):
        def go():
            for number in range(6):
                with transaction.atomic():
                    SignedRecord.objects.create(
                        visit=visit, position=order * 100 + number, name="-", digest="0" * 64
                    )
                    Visit.objects.filter(pk=visit.pk).update(purpose=f"{order}.{number}")
                    SignedRecord.objects.create(
                        visit=visit, position=order * 100 + 50 + number, name="-", digest="0" * 64
                    )

        return go

    answers = together(deed(1), deed(2), deed(3))

    assert answers == [None, None, None]
    assert list(chain_troubles()) == []


def test_stock_is_not_taken_twice(machine, contractor, firm):
    part = Part.objects.create(firm=firm, number="B-1", description="belt", in_van=2)
    belts = [factories.BeltFactory(machine=machine, name=f"belt {n}") for n in range(4)]

    def take(belt):
        return lambda: fit(
            belt, made_by=contractor, part=part, taken_from="in_van", why=Removal.Why.WORN
        )

    answers = together(*map(take, belts))

    part.refresh_from_db()
    assert part.in_van == 0
    assert sum(isinstance(one, Fitting) for one in answers) == 2
    assert sum(isinstance(one, Refused) for one in answers) == 2


def test_a_meter_does_not_go_down_between_two_who_read_it(machine, operator):
    now = timezone.now()

    def read(value, hours_ago):
        return lambda: read_meter(
            machine=machine,
            made_by=operator,
            value=Decimal(value),
            read_at=now - timedelta(hours=hours_ago),
        )

    answers = together(read(200, 2), read(100, 1))

    assert sorted(type(one).__name__ for one in answers) == ["MeterReading", "Refused"]
    assert MeterReading.objects.count() == 1


def test_one_person_gets_one_role_at_a_shop(shop):
    person = factories.UserFactory()

    def join():
        return Membership.objects.create(user=person, shop=shop, role=Role.OPERATOR)

    answers = together(join, join)

    assert Membership.objects.filter(user=person).count() == 1
    assert sum(isinstance(one, IntegrityError) for one in answers) == 1


def test_of_two_who_send_one_form_at_once_one_is_told(shop, owner):
    part = Part.objects.create(shop=shop, number="B-1", description="belt", on_shelf=3)
    address = reverse("machines:edit_part", args=[part.pk])
    second = factories.UserFactory(username="second", first_name="Bea", last_name="Second")
    factories.MembershipFactory(user=second, shop=shop, role=Role.OWNER)

    def sender(person, on_shelf):
        client = Client()
        client.force_login(person)
        version = re.search(r'name="version" value="(\d+)"', client.get(address).text).group(1)
        sent = {"number": "B-1", "description": "belt", "minimum": 0, "in_van": 0}
        return lambda: client.post(address, sent | {"on_shelf": on_shelf, "version": version})

    answers = together(sender(owner, 7), sender(second, 8))

    assert sorted(one.status_code for one in answers) == [200, 302]
    told = next(one for one in answers if one.status_code == 200)
    assert "changed this: on the shelf from 3 to" in told.text
    assert Change.objects.filter(record=f"machines_part:{part.pk}", kind="changed").count() == 1
