"""A result is kept until something changes at its shop, and not a moment longer."""

import datetime

import pytest
from django.db import transaction

from shop.snapshots import standing_of
from tests import factories

pytestmark = pytest.mark.django_db


class Work:
    """Counts how often it was done."""

    def __init__(self):
        self.done = 0

    def __call__(self):
        self.done += 1
        return [self.done]


def test_it_is_worked_out_once_while_nothing_changes(shop):
    work = Work()
    assert standing_of(shop).keep(work, "chain", 1) == [1]
    assert standing_of(shop).keep(work, "chain", 1) == [1]
    assert work.done == 1


def test_another_machine_or_another_unit_is_another_result(shop):
    work = Work()
    standing = standing_of(shop)
    assert standing.keep(work, "chain", 1, "mm") != standing.keep(work, "chain", 1, "in")
    assert standing.keep(work, "chain", 2, "mm") == [3]


def test_a_change_at_the_shop_has_it_worked_out_anew(machine):
    work = Work()
    standing_of(machine.shop).keep(work, "chain")
    factories.IncidentFactory(machine=machine)
    standing_of(machine.shop).keep(work, "chain")
    assert work.done == 2


def test_a_change_at_another_shop_does_not(machine):
    work = Work()
    other = factories.MachineFactory()
    standing_of(machine.shop).keep(work, "chain")
    factories.IncidentFactory(machine=other)
    standing_of(machine.shop).keep(work, "chain")
    assert work.done == 1


def test_the_next_day_has_it_worked_out_anew(shop, monkeypatch):
    work = Work()
    standing_of(shop).keep(work, "due")
    tomorrow = standing_of(shop).day + datetime.timedelta(days=1)
    monkeypatch.setattr("django.utils.timezone.localdate", lambda timezone=None: tomorrow)
    standing_of(shop).keep(work, "due")
    assert work.done == 2


def test_what_is_kept_cannot_be_changed_by_whoever_was_given_it(shop):
    work = Work()
    standing_of(shop).keep(work, "chain").append("spoilt")
    assert standing_of(shop).keep(work, "chain") == [1]


def test_inside_a_transaction_nothing_is_kept_since_it_may_be_undone(machine):
    work = Work()
    try:
        with transaction.atomic():
            factories.IncidentFactory(machine=machine)
            standing_of(machine.shop).keep(work, "chain")
            raise LookupError
    except LookupError:
        pass
    factories.IncidentFactory(machine=machine)
    standing_of(machine.shop).keep(work, "chain")
    assert work.done == 2
