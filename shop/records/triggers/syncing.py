"""Brings the triggers of a database to what their rules say, and nothing else of them.

A trigger that is as it should be is not touched. Where one differs, its table is locked for the one
transaction in which the old goes and the new comes, so that nobody finds the table without.
"""

from django.db import connections, transaction
from django.db.migrations.executor import MigrationExecutor

from shop.audit.install import begin_chain, note_unseen
from shop.audit.postgres import IN_LINE
from shop.audit.tables import trailed
from shop.audit.trigger_catalogue import drop, functions_in, is_same, lock, run, triggers_in

from .wanted import wanted_triggers

# What is noted of other tables is written here, so these are the first to be put in order.
FIRST = ("trail_in_line", "shop_chainhead", "shop_chainlink", "shop_change", "shop_stir")


def create_triggers(*, using, plan=None, **_signal):
    """Put the triggers on that are missing or differ; those that are right stay on throughout.

    plan: the migrations that just ran. While others are still to run, the rules do not fit the
    tables: what is there stays, and tables that migrations closed stay closed.
    """
    connection = connections[using]
    if plan is not None and _are_migrations_waiting(connection):
        return
    if connection.vendor == "postgresql":
        run(connection, IN_LINE)
    wanted = wanted_triggers(connection.vendor)
    for tables in _groups(connection, wanted):
        with transaction.atomic(using=using):
            _sync(connection, tables, wanted, is_migrated=bool(plan))
    begin_chain(using)
    _drop_idle_functions(connection, wanted)


def drop_triggers(*, using, kinds=("frozen", "trail", "stir", "closed")):
    """Take triggers off: for tests, which empty tables and play somebody who edits the database."""
    connection = connections[using]
    with transaction.atomic(using=using):
        for table, found in triggers_in(connection).items():
            for name in found:
                if name.partition("_")[0] in kinds:
                    drop(connection, table, name)


def differing(connection, wanted):
    """The tables of which a trigger, or a function that one runs, is not as it should be."""
    found, functions = triggers_in(connection), functions_in(connection)
    stale = {name for name, one in wanted.functions.items() if not _is_there(one, functions)}
    return {
        table
        for table in {*found, *wanted.tables}
        if found[table].keys() != wanted.tables[table].keys()
        or any(
            one.calls in stale or not _is_there(one, found[table])
            for one in wanted.tables[table].values()
        )
    }


def _is_there(one, found):
    return one.name in found and is_same(one.sql, found[one.name])


def _groups(connection, wanted):
    """The differing tables, in the order they are put right: each by itself.

    Where a function that serves several tables is another, they change together with it: the
    triggers of one version never run the function of the next.
    """
    tables = sorted(differing(connection, wanted), key=lambda one: (one not in FIRST, one))
    found = functions_in(connection)
    shared = [wanted.functions[name] for name in wanted.shared()]
    if any(one.name in found and not _is_there(one, found) for one in shared):
        return [tables] if tables else []
    return [[table] for table in tables]


def _sync(connection, tables, wanted, *, is_migrated):
    """Bring some tables' triggers to what is wanted, in the transaction that is open."""
    lock(connection, tables)
    found, functions = triggers_in(connection), functions_in(connection)
    for table in tables:
        for name, definition in found[table].items():
            one = wanted.tables[table].get(name)
            if one is None or not is_same(one.sql, definition):
                drop(connection, table, name)
    for table in tables:
        for one in wanted.tables[table].values():
            if one.calls and not _is_there(wanted.functions[one.calls], functions):
                run(connection, wanted.functions[one.calls].sql)
            if not _is_there(one, found[table]):
                run(connection, one.sql)
    for table in tables:
        _note(connection, table, found[table], wanted, is_migrated=is_migrated)


def _note(connection, table, found, wanted, *, is_migrated):
    """Let the trail say what it did not see of a table while its triggers were off it."""
    known = trailed().get(table)
    notes = [one for one in wanted.tables[table].values() if one.name.startswith("trail_")]
    was_closed = any(name.partition("_")[0] == "closed" for name in found)
    if known and (was_closed or not all(_is_there(one, found) for one in notes)):
        was_replaced = any(one.name in found for one in notes) and is_migrated
        begin_chain(connection.alias)
        note_unseen(connection, known, migrated=was_closed or was_replaced)


def _drop_idle_functions(connection, wanted):
    """Drop the functions that no trigger runs any more."""
    in_use = {*wanted.functions, "closed_table"}
    for name in functions_in(connection).keys() - in_use:
        run(connection, f"DROP FUNCTION {name}()")


def _are_migrations_waiting(connection):
    executor = MigrationExecutor(connection)
    return bool(executor.migration_plan(executor.loader.graph.leaf_nodes()))
