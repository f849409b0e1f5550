"""Which tables are trailed, and how: by the declarations beside the models (`shop.record`)."""

from dataclasses import dataclass
from functools import cache

from django.contrib.auth import get_user_model
from django.utils.module_loading import import_string

from shop.record import our_apps, our_models, rules_of


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


@cache
def trailed():
    """{table: `Trailed`} of every trailed table, in the order of the apps and their models."""
    models = [model for model in our_models() if not rules_of(model).untrailed]
    return {model._meta.db_table: _of(model, rules_of(model)) for model in models}


def _of(model, said):
    columns = [field.column for field in model._meta.concrete_fields]
    return Trailed(
        model=model,
        columns=tuple(column for column in columns if column not in said.left_out),
        left_out=tuple(column for column in columns if column in said.left_out),
        parts_of=() if said.has_page else _parts_of(model, said),
        chained=said.chained,
        has_page=said.has_page,
        seen_by=import_string(said.seen_by) if said.seen_by else None,
    )


def _parts_of(model, said):
    """(column, table) of each foreign key that may name the whole."""
    keys = [field for field in model._meta.concrete_fields if field.many_to_one or field.one_to_one]
    if said.part_of:
        keys = [model._meta.get_field(name) for name in said.part_of]
    else:
        ours = [key for key in keys if key.related_model._meta.app_label in our_apps()]
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
