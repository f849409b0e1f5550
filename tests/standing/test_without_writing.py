"""A page that cannot write down what it worked out shows what stands, and as of when."""

import pytest
from django.db import OperationalError, connection
from django.urls import reverse

from shop.snapshots import lists
from shop.snapshots.models import RefreshState
from tests import factories

pytestmark = pytest.mark.django_db
DUE = "machines:due"


def fail(*_args):
    raise OperationalError("database or disk is full")


@pytest.fixture
def full(monkeypatch):
    """Lets the disk be full from when it is called on."""
    return lambda: monkeypatch.setattr(lists, "_work_out", fail)


@pytest.fixture
def page(client, owner, machine):
    client.force_login(owner)
    return lambda name=DUE, *args: client.get(reverse(name, args=args)).content.decode()


def test_what_stands_is_shown_with_its_age(page, full, machine, clock):
    page()
    then = RefreshState.objects.get(what="due").at
    full()
    factories.MachineFactory(shop=machine.shop)
    clock.shift(7200)
    assert f"As of {then.astimezone(machine.shop.zone):%-d %b}" in page()


def test_what_was_never_worked_out_says_so(page, full):
    full()
    assert "could not be worked out yet" in page()


def test_a_page_that_is_up_to_date_says_nothing(page, full):
    page()
    full()
    assert "As of" not in page()


def test_a_panel_made_of_old_rows_is_not_kept_as_if_it_were_new(page, machine, monkeypatch):
    shown = "machines:machine", machine.pk
    with monkeypatch.context() as patch:
        patch.setattr(lists, "_work_out", fail)
        assert "could not be worked out yet" in page(*shown)
        assert "could not be worked out yet" in page(*shown)
    assert "could not be worked out yet" not in page(*shown)


@pytest.mark.skipif(connection.vendor != "sqlite", reason="it is SQLite's own limit")
def test_a_database_that_may_grow_no_more_is_shown(page, machine):
    page()
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA page_count")
        (pages,) = cursor.fetchone()
        cursor.execute(f"PRAGMA max_page_count = {pages}")
    try:
        assert "<h1>" in page()
    finally:
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA max_page_count = 1073741823")
