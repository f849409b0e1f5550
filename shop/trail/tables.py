"""Which tables are trailed, and how.

Every model of the project's apps is, unless its app's `trailed.py` says otherwise, by name:
EXEMPT: {model: why it is not trailed}
LEFT_OUT: {(model, column): why the trail does not keep it}
OWN_PAGE: models whose records have a page of their own on which changes are read
PARTS_OF: {model: [names of the foreign keys that say which record it is a part of]}; without an
    entry a record without a page is part of what its first foreign key names, people aside
CHAINED: models whose changes are linked into the chain
SEEN_BY: {model: function (user, whole) -> whether the person may see these parts of it}
"""

from dataclasses import dataclass
from functools import cache

from django.apps import apps
from django.conf import settings
from django.contrib.auth import get_user_model
from django.utils.module_loading import import_string


@dataclass(frozen=True)
class Trailed:
    """One trailed table.

    columns: those that are kept; left_out: those that are not; parts_of: (column, table) of the
    records it may be a part of, the first that is not null counts.
    """

    model: type
    columns: tuple[str, ...]
    left_out: tuple[str, ...]
    parts_of: tuple[tuple[str, str], ...]
    chained: bool
    has_page: bool
    seen_by: object = None

    @property
    def table(self):
        return self.model._meta.db_table

    @property
    def pk_column(self):
        return self.model._meta.pk.column


def said_of(app, name):
    """What the app's `trailed.py` says under a name."""
    return import_string(f"{app}.trailed.{name}")


def models_of(app):
    return apps.get_app_config(app).get_models(include_auto_created=True)


@cache
def trailed():
    """{table: `Trailed`} of every trailed table, in the order of the apps and their models."""
    return {
        model._meta.db_table: _of(app, model)
        for app in settings.TRAILED_APPS
        for model in models_of(app)
        if model.__name__ not in said_of(app, "EXEMPT")
    }


def _of(app, model):
    name = model.__name__
    left_out = {column for of, column in said_of(app, "LEFT_OUT") if of == name}
    columns = [field.column for field in model._meta.concrete_fields]
    has_page = name in said_of(app, "OWN_PAGE")
    return Trailed(
        model=model,
        columns=tuple(column for column in columns if column not in left_out),
        left_out=tuple(column for column in columns if column in left_out),
        parts_of=() if has_page else _parts_of(app, model),
        chained=name in said_of(app, "CHAINED"),
        has_page=has_page,
        seen_by=said_of(app, "SEEN_BY").get(name),
    )


def _parts_of(app, model):
    """(column, table) of each foreign key that may name the whole."""
    keys = [field for field in model._meta.concrete_fields if field.many_to_one or field.one_to_one]
    named = said_of(app, "PARTS_OF").get(model.__name__)
    if named is not None:
        keys = [model._meta.get_field(name) for name in named]
    else:
        ours = [key for key in keys if key.related_model._meta.app_label in settings.TRAILED_APPS]
        things = [key for key in ours if key.related_model is not get_user_model()]
        # A first key that may be empty shares its job with the next: a belt or else a bearing.
        first_sure = next((n for n, key in enumerate(things) if not key.null), len(things) - 1)
        keys = things[: first_sure + 1] or ours[:1]
    return tuple((key.column, key.related_model._meta.db_table) for key in keys)


def within(table, row):
    """SQL for what the row is a part of, empty where it stands by itself."""
    keys = [f"'{whole}:' || {row}.\"{column}\"" for column, whole in table.parts_of]
    return f"coalesce({', '.join([*keys, repr('')])})" if keys else "''"


def key_of(record):
    """How the trail names a record: "shop_visit:12"."""
    return f"{record._meta.db_table}:{record.pk}"
