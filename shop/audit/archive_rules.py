"""What of each table goes into an archive: of a whole shop, or of one machine.

It is derived from the declarations beside the models (`shop.record`); the way from a row to its
shop or its machine from the foreign keys.
"""

from dataclasses import dataclass, replace
from functools import cache, cached_property

from django.apps import apps
from django.contrib.contenttypes.fields import GenericForeignKey
from django.db.models import Q

from shop.record import Goes, Stays, our_models, rules_of

# The tables of the libraries, by app: nothing of them leaves the site.
OF_LIBRARIES = {
    "auth": Stays("rights on the admin site are the site's to give"),
    "admin": Stays("what was done on the admin site of this site"),
    "contenttypes": Stays("the site's own list of its tables; an archive calls them by name"),
    "sessions": Stays("sign-ins to this site"),
    "axes": Stays("who tried to sign in to this site, and from where"),
    "otp_static": Stays("secrets of a person's second factor"),
    "otp_totp": Stays("secrets of a person's second factor"),
}


@dataclass(frozen=True)
class Scope:
    """One kind of archive.

    kind: how its manifest calls it. version: of its format. of: the model of what is taken out.
    never: fields that leave no table.
    whole: whether all that belongs together goes; if not, a row goes without naming what stays,
        and one that cannot be without it stays too.
    """

    kind: str
    version: int
    of: str
    never: tuple[str, ...] = ()
    whole: bool = True

    @cached_property
    def rules(self):
        """{model: its rule} of every table, in the order in which rows name one another."""
        root = apps.get_model(self.of)
        found = {model: _rule(model, root, whole=self.whole) for model in in_order(our_models())}
        for model in apps.get_models(include_auto_created=True):
            if model._meta.app_label in OF_LIBRARIES:
                found[model] = OF_LIBRARIES[model._meta.app_label]
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


# The format of an archive. In 1 checks and sheets told directions as an indicator saw them.
FORMAT = 2


@cache
def whole_shop():
    """The archive of a whole shop."""
    return Scope("sweepbook shop archive", FORMAT, "shop.Shop")


def _rule(model, root, *, whole):
    """The rule of a table for the archive of a shop (`whole`), or of a machine."""
    said = rules_of(model)
    rule = said.archive if whole else said.handover
    if rule is None:
        rule = Goes() if isinstance(said.archive, Goes) else Stays("it is not the machine's")
    if not isinstance(rule, Goes) or rule.way:
        return rule
    ways = [*ways_to(root, model), "", ""]
    if not ways[0]:
        return Stays("it is of no one machine")
    return replace(rule, way=ways[0], or_way=ways[1])


def ways_to(root, model):
    """The ways, as lookups, from a row to the shop or machine it belongs to: one, two or none."""
    ways = []
    for name in belonging(model):
        target = model._meta.get_field(name).related_model
        if target is root:
            ways.append(name)
        else:
            ways += [f"{name}__{way}" for way in ways_to(root, target)]
    return ways


def belonging(model):
    """The names of the foreign keys that lead to a record's shop: those declared, or the first to a
    record that goes with a shop."""
    said = rules_of(model)
    if said.belongs_to or not isinstance(said.archive, Goes) or said.archive.way:
        return said.belongs_to
    keys = [field for field in model._meta.concrete_fields if field.is_relation]
    going = [key.name for key in keys if key.related_model is not model and _goes(key)]
    return tuple(going[:1])


def _goes(key):
    model = key.related_model
    is_ours = model in our_models()
    return is_ours and isinstance(rules_of(model).archive, Goes)


def in_order(models):
    """The models, each after those that its foreign keys name where that is possible."""
    ordered, waiting = [], list(models)
    while waiting:
        free = next((one for one in waiting if not _named(one) & {*waiting} - {one}), waiting[0])
        waiting.remove(free)
        ordered.append(free)
    return ordered


def _named(model):
    return {field.related_model for field in model._meta.concrete_fields if field.is_relation}


def label_of(model):
    """How an archive calls a table, such as "shop.visit"."""
    return model._meta.label_lower


def loose_reference(model):
    """The model's reference to a row of whichever table, None when it has none."""
    loose = [one for one in model._meta.private_fields if isinstance(one, GenericForeignKey)]
    return loose[0] if loose else None
