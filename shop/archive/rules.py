"""What of each table goes into an archive: of a whole shop, or of one machine.

Every model has one rule for the shop's archive, in its app's `archived.py`; settings list them in
`ARCHIVED`. A test fails for a model without one. `HANDED_OVER` lists what goes with one machine; a
table that is not named there stays.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache, cached_property

from django.apps import apps
from django.conf import settings
from django.contrib.contenttypes.fields import GenericForeignKey
from django.db.models import Q
from django.utils.module_loading import import_string


@dataclass(frozen=True)
class Goes:
    """Rows that belong to what is taken out.

    way: the way from a row to the shop or the machine, as a lookup; "pk" of the thing itself.
    or_way: a second way, for rows that belong to one thing or to another.
    only: what must be true of the rows besides, as lookups.
    held: columns of what is signed or sealed, with what they hold until all else is in: what was
        signed takes nothing in any more.
    without: fields that never leave.
    """

    way: str
    or_way: str = ""
    only: Mapping[str, object] = field(default_factory=dict)
    held: Mapping[str, object] = field(default_factory=dict)
    without: tuple[str, ...] = ()


@dataclass(frozen=True)
class Named:
    """Rows that go along where a row that goes names them: people, a firm and what is the firm's.

    by: what they are known by on the other side, each a tuple of fields, the surest first. A row
        known there is used as it is there; others are made.
    way: the way to a shop whose rows go even when nothing names them.
    carries: the only fields that leave; empty for all.
    higher: fields of which the higher value stands where the row is known already.
    """

    by: tuple[tuple[str, ...], ...] = ()
    way: str = ""
    carries: tuple[str, ...] = ()
    higher: tuple[str, ...] = ()


@dataclass(frozen=True)
class Stays:
    """Rows that never leave, and why."""

    why: str


@dataclass(frozen=True)
class Scope:
    """One kind of archive.

    kind: how its manifest calls it. version: of its format. listed: the setting with its rules.
    never: fields that leave no table.
    whole: whether all that belongs together goes; if not, a row goes without naming what stays,
        and one that cannot be without it stays too.
    """

    kind: str
    version: int
    listed: str
    never: tuple[str, ...] = ()
    whole: bool = True

    @cached_property
    def rules(self):
        """{model: its rule}, in the order of the lists."""
        listed = {}
        for path in getattr(settings, self.listed):
            listed |= import_string(path)
        found = {apps.get_model(label): rule for label, rule in listed.items() if "." in label}
        for model in apps.get_models(include_auto_created=True):
            if model not in found and model._meta.app_label in listed:
                found[model] = listed[model._meta.app_label]
        return found

    @cached_property
    def going(self):
        """{model: rule} of those that leave the site at all."""
        return {model: rule for model, rule in self.rules.items() if not isinstance(rule, Stays)}

    def rows_of(self, model, thing):
        """The rows that belong to the thing, before those that others name are added."""
        rule = self.going[model]
        ways = [way for way in (rule.way, getattr(rule, "or_way", "")) if way]
        if not ways:
            return model._base_manager.none()
        theirs = Q()
        for way in ways:
            theirs |= Q(**{way: thing.pk})
        return model._base_manager.filter(theirs, **getattr(rule, "only", {}))

    def fields_of(self, model):
        """The fields of a row that are in the archive."""
        rule = self.going[model]
        carries = getattr(rule, "carries", ())
        without = {*self.never, *getattr(rule, "without", ())}
        return [
            one
            for one in model._meta.concrete_fields
            if not one.primary_key
            and one.name not in without
            and (not carries or one.name in carries)
        ]

    def references_of(self, model):
        """The fields that name a row of a table that goes."""
        return [
            one
            for one in self.fields_of(model)
            if one.is_relation and one.related_model in self.going
        ]


@cache
def whole_shop():
    """The archive of a whole shop."""
    return Scope("sweepbook shop archive", 1, "ARCHIVED")


def label_of(model):
    """How an archive calls a table, such as "shop.visit"."""
    return model._meta.label_lower


def loose_reference(model):
    """The model's reference to a row of whichever table, None when it has none."""
    loose = [one for one in model._meta.private_fields if isinstance(one, GenericForeignKey)]
    return loose[0] if loose else None
