"""The site is migrated while it runs: at no moment is what was signed to be had for editing.

Another program, on a connection of its own, tries before and after every statement.
"""

from contextlib import contextmanager

import pytest
from django.apps import apps
from django.core.management import call_command
from django.db import DatabaseError, IntegrityError, connection, models, transaction
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from shop.audit import freezing
from shop.audit.freezing import Freeze
from shop.audit.models import Change
from shop.audit.tables import key_of
from shop.audit.trigger_catalogue import triggers_in
from shop.record import Frozen
from shop.records.triggers.migrating import MESSAGE, guard_migrations, unguard_migrations
from shop.records.triggers.syncing import create_triggers, differing, drop_triggers
from shop.records.triggers.wanted import wanted_triggers
from shop.records.verifying import row_troubles
from shop.visits.models import Visit
from tests import factories

pytestmark = pytest.mark.django_db(transaction=True)

EDIT = "UPDATE shop_visit SET purpose = 'edited' WHERE state = 'signed'"


@pytest.fixture
def signed():
    visit = factories.VisitFactory(purpose="after a crash")
    Visit.objects.filter(pk=visit.pk).update(state="signed", signed_at=timezone.now())
    visit.refresh_from_db()
    return visit


@pytest.fixture
def other_program():
    """A connection of its own that waits for nobody."""
    other = connection.copy()
    if other.vendor == "sqlite":
        other.settings_dict = {**other.settings_dict}
        other.settings_dict["OPTIONS"] = {**other.settings_dict["OPTIONS"], "timeout": 0}
    else:
        with other.cursor() as cursor:
            cursor.execute("SET lock_timeout = '20ms'")
    yield other
    other.close()


@contextmanager
def somebody_tries(other, answers):
    """Before and after each statement of ours `other` tries to edit; `answers` says what came."""

    def attempt():
        try:
            with other.cursor() as cursor:
                cursor.execute(EDIT)
                answers.append(f"{cursor.rowcount} edited")
        except DatabaseError as error:
            answers.append(str(error))

    def each_statement(execute, sql, params, many, context):
        attempt()
        try:
            return execute(sql, params, many, context)
        finally:
            attempt()

    with connection.execute_wrapper(each_statement):
        yield
    attempt()


def refusals(answers):
    words = (freezing.MESSAGE, MESSAGE, "locked", "lock timeout")
    return [one for one in answers if any(word in one for word in words)]


def a_rule_changed(monkeypatch):
    """The rule of visits says the same in other words, so its triggers are others."""
    others = [rule for rule in freezing.rules() if rule.table != "shop_visit"]
    rule = Freeze("shop_visit", Frozen("{row}.state IN ('signed')", inserts=False))
    monkeypatch.setattr(freezing, "rules", lambda: [*others, rule])


def statements_of(work):
    with CaptureQueriesContext(
        connection,
    ) as queries:
        work()
    return [one["sql"] for one in queries if one["sql"].split()[0] in {"CREATE", "DROP", "LOCK"}]


def alter_purpose(editor, *, back=False):
    """Make the column another, or what it was; SQLite makes the whole table anew for it."""
    now = Visit._meta.get_field("purpose")
    other = models.CharField(max_length=now.max_length + 100, blank=now.blank)
    other.set_attributes_from_name("purpose")
    other.model = Visit
    editor.alter_field(Visit, *([other, now] if back else [now, other]))


def migrate_in_vain(sql, *, at_once):
    """A migration that fails in the midst of it, or with what it put off to its end."""
    with connection.schema_editor() as editor:
        alter_purpose(editor)
        Visit.objects.update(purpose="half done")
        if at_once:
            editor.execute(sql)
        editor.deferred_sql.append(sql)


@pytest.fixture
def migrating():
    guard_migrations(using="default")
    yield
    unguard_migrations(using="default")
    create_triggers(using="default")


def test_every_trigger_is_in_the_catalogue_as_its_rule_has_it():
    wanted = wanted_triggers(connection.vendor)

    assert len(wanted.triggers()) > 300
    assert differing(connection, wanted) == set()


def test_migrating_again_touches_no_trigger(signed):
    assert [
        one
        for one in statements_of(lambda: call_command("migrate", verbosity=0))
        if "TRIGGER" in one or "LOCK" in one or "FUNCTION" in one
    ] == []


def test_a_rule_that_changed_is_put_on_its_own_table_alone(signed, monkeypatch):
    before = triggers_in(connection)
    a_rule_changed(monkeypatch)

    done = statements_of(lambda: create_triggers(using="default"))

    after = triggers_in(connection)
    assert {
        name for table in before for name in before[table].keys() ^ after[table].keys()
    } == set()
    assert all("shop_visit" in one for one in done if "TRIGGER" in one or "LOCK" in one)
    assert differing(connection, wanted_triggers(connection.vendor)) == set()
    monkeypatch.undo()
    assert differing(connection, wanted_triggers(connection.vendor)) == {"shop_visit"}
    create_triggers(using="default")


def test_while_a_rule_is_replaced_nothing_signed_can_be_edited(signed, other_program, monkeypatch):
    answers = []
    a_rule_changed(monkeypatch)
    with somebody_tries(other_program, answers):
        create_triggers(using="default")
    monkeypatch.undo()
    create_triggers(using="default")

    assert len(answers) > 10
    assert refusals(answers) == answers
    signed.refresh_from_db()
    assert signed.purpose == "after a crash"


def test_while_a_table_is_migrated_nothing_signed_can_be_edited(signed, other_program, migrating):
    answers = []
    with somebody_tries(other_program, answers):
        with connection.schema_editor() as editor:
            alter_purpose(editor)
        with connection.schema_editor() as editor:
            alter_purpose(editor, back=True)
            Visit.objects.filter(pk=signed.pk).update(purpose="put right by a migration")
        create_triggers(using="default")

    assert len(answers) > 10
    assert refusals(answers) == answers
    assert freezing.MESSAGE in answers[-1]
    change = Change.objects.filter(record=key_of(signed)).first()
    assert change.kind == "migrated"
    assert "put right by a migration" in change.after
    assert list(row_troubles()) == []


def test_between_two_migrations_the_table_is_closed(signed, migrating):
    with connection.schema_editor():
        Visit.objects.filter(pk=signed.pk).update(purpose="put right by a migration")

    with pytest.raises(IntegrityError, match=MESSAGE), transaction.atomic():
        factories.VisitFactory()

    create_triggers(using="default")
    factories.VisitFactory()


def test_a_migration_that_fails_leaves_the_triggers_as_they_were(signed, migrating):
    before = triggers_in(connection)
    with pytest.raises(DatabaseError):
        migrate_in_vain("ALTER TABLE shop_no_such_table ADD COLUMN x integer", at_once=True)

    assert triggers_in(connection) == before
    with pytest.raises(IntegrityError, match=freezing.MESSAGE), transaction.atomic():
        Visit.objects.filter(pk=signed.pk).update(purpose="edited")


def test_a_migration_that_fails_at_its_end_undoes_all_of_it(signed, migrating):
    before = triggers_in(connection)
    with pytest.raises(DatabaseError):
        migrate_in_vain("ALTER TABLE shop_no_such_table ADD COLUMN x integer", at_once=False)

    signed.refresh_from_db()
    assert signed.purpose == "after a crash"
    assert triggers_in(connection) == before


def test_tables_that_a_migration_leaves_alone_keep_their_triggers(signed, migrating):
    before = triggers_in(connection)
    with connection.schema_editor():
        apps.get_model("machines", "Part").objects.update(description="belt")

    after = triggers_in(connection)
    assert {table for table in before if before[table] != after[table]} == {"machines_part"}


def test_triggers_that_somebody_took_off_come_back_and_the_edit_shows(signed):
    drop_triggers(using="default")
    Visit.objects.filter(pk=signed.pk).update(purpose="edited")
    call_command("migrate", verbosity=0)

    (trouble,) = row_troubles()
    assert "Purpose is 'edited'" in trouble
    with pytest.raises(IntegrityError, match=freezing.MESSAGE), transaction.atomic():
        Visit.objects.filter(pk=signed.pk).update(purpose="again")


def test_a_trigger_that_was_hollowed_out_is_put_right(signed):
    if connection.vendor == "sqlite":
        hollow = (
            "CREATE TRIGGER frozen_shop_visit_update BEFORE UPDATE ON shop_visit"
            " BEGIN SELECT 1; END"
        )
        steps = ["DROP TRIGGER frozen_shop_visit_update", hollow]
    else:
        steps = [
            "CREATE OR REPLACE FUNCTION frozen_shop_visit_update() RETURNS trigger LANGUAGE"
            " plpgsql AS $$ BEGIN RETURN NEW; END $$",
            "ALTER TABLE shop_visit DISABLE TRIGGER frozen_shop_visit_delete",
        ]
    with connection.cursor() as cursor:
        for step in steps:
            cursor.execute(step)
    call_command("migrate", verbosity=0)

    with pytest.raises(IntegrityError, match=freezing.MESSAGE), transaction.atomic():
        Visit.objects.filter(pk=signed.pk).update(purpose="edited")
    assert differing(connection, wanted_triggers(connection.vendor)) == set()
