"""Open work as a list that goes out."""

import django_tables2 as tables


class OpenTable(tables.Table):
    kind = tables.Column()
    what = tables.Column()
    where = tables.Column()
    since = tables.Column()
    why = tables.Column()
    action = tables.Column()


def told(kind, line):
    """A line of open work as a row of the list."""
    return {
        "kind": kind.title,
        **{name: getattr(line, name) for name in ("what", "where", "since", "why", "action")},
    }
