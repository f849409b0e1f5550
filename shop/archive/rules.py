"""What of each table goes into a shop's archive.

Every model has one rule, in its app's `archived.py`; settings list them in `ARCHIVED`. A test fails
for a model without one.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache

from django.apps import apps
from django.conf import settings
from django.contrib.contenttypes.fields import GenericForeignKey
from django.db.models import Q
from django.utils.module_loading import import_string


@dataclass(frozen=True)
class Goes:
    """Rows that are the shop's.

    shop: the way from a row to its shop, as a lookup; "pk" of the shop itself.
    or_shop: a second way, for rows that belong to one thing or to another.
    held: columns of what is signed or sealed, with what they hold until all else is in: what was
        signed takes nothing in any more.
    """

    shop: str
    or_shop: str = ""
    held: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True)
class Named:
    """Rows that go along where a row that goes names them: people, a firm and what is the firm's.

    by: what they are known by on the other side, each a tuple of fields, the surest first. A row
        known there is used as it is there; others are made.
    shop: the way to a shop whose rows go even when nothing names them.
    carries: the only fields that leave; empty for all.
    higher: fields of which the higher value stands where the row is known already.
    """

    by: tuple[tuple[str, ...], ...]
    shop: str = ""
    carries: tuple[str, ...] = ()
    higher: tuple[str, ...] = ()


@dataclass(frozen=True)
class Stays:
    """Rows that never leave, and why."""

    why: str


@cache
def rules():
    """{model: its rule}, in the order of the lists."""
    listed = {}
    for path in settings.ARCHIVED:
        listed |= import_string(path)
    whole_apps = {label: rule for label, rule in listed.items() if "." not in label}
    found = {apps.get_model(label): rule for label, rule in listed.items() if "." in label}
    for model in apps.get_models(include_auto_created=True):
        if model not in found and model._meta.app_label in whole_apps:
            found[model] = whole_apps[model._meta.app_label]
    return found


def going():
    """{model: rule} of those that leave the site at all."""
    return {model: rule for model, rule in rules().items() if not isinstance(rule, Stays)}


def rows_of(model, shop):
    """The rows that are the shop's, before those that others name are added."""
    rule = rules()[model]
    ways = [way for way in (rule.shop, getattr(rule, "or_shop", "")) if way]
    if not ways:
        return model._base_manager.none()
    theirs = Q()
    for way in ways:
        theirs |= Q(**{way: shop.pk})
    return model._base_manager.filter(theirs)


def label_of(model):
    """How an archive calls a table, such as "shop.visit"."""
    return model._meta.label_lower


def fields_of(model):
    """The fields of a row that are in the archive."""
    carries = getattr(rules()[model], "carries", ())
    fields = [one for one in model._meta.concrete_fields if not one.primary_key]
    return [one for one in fields if not carries or one.name in carries]


def references_of(model):
    """The fields that name a row of a table that goes."""
    return [one for one in fields_of(model) if one.is_relation and one.related_model in going()]


def loose_reference(model):
    """The model's reference to a row of whichever table, None when it has none."""
    loose = [one for one in model._meta.private_fields if isinstance(one, GenericForeignKey)]
    return loose[0] if loose else None
