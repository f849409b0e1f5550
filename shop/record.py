"""What a table has to say for itself, in one declaration beside its model.

Every model of the site's apps has `record_rules = Record(...)`; a system check refuses to start
without. From these are derived: what goes into archives (`shop.audit.archive_rules`), the trail
(`shop.audit.tables`), the freezing triggers (`shop.audit.freezing`) and what a signature stands for
(`shop.visits.signed`). Nothing here asks the database or imports a model.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from django.apps import apps


@dataclass(frozen=True)
class Goes:
    """Rows that belong to what is taken out.

    way: the way from a row to the shop or the machine, as a lookup; "pk" of the thing itself, ""
        where the foreign keys say it (`Record.belongs_to`).
    or_way: a second way, for rows that belong to one thing or to another.
    only: what must be true of the rows besides, as lookups.
    held: columns of what is signed or sealed, with what they hold until all else is in: what was
        signed takes nothing in any more.
    without: fields that never leave.
    """

    way: str = ""
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
class Frozen:
    """When a row no longer changes.

    signed_when: SQL that is true of a row which was signed; `{row}` stands for OLD or NEW.
    columns: the columns whose values may not change; empty means all of them.
    but: of such a column, SQL of OLD and NEW that is true of a change which is let through.
    inserts: whether adding a row to something signed is refused too; the row that becomes signed
        by an update is always let through when this is False.
    """

    signed_when: str
    columns: tuple[str, ...] = ()
    inserts: bool = True
    but: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Signed:
    """What a signature under a visit says of a row of the visit.

    name: what it is called, with `{0}` for the row. rows: the ways to the rows that are part of
    what it says, in that order. select: the ways to what its name asks for.
    """

    name: str
    rows: tuple[str, ...] = ()
    select: tuple[str, ...] = ()
    order: tuple[str, ...] = ("pk",)


@dataclass(frozen=True)
class Record:
    """What a table says for itself. What is not said is derived from its foreign keys, or no.

    Who may see a record its queryset's `visible_to` says, or else that of what it is part of.

    belongs_to: names of the foreign keys that lead to its shop, the second where the first is
        empty; by itself the first to a record that goes with a shop.
    archive: whether it goes with its shop, and if not, why.
    handover: the same for one machine; by itself what belongs to a machine goes with it.
    links: why what its many-to-many fields say stays with the site.
    frozen: when its rows no longer change; None for never.
    signed: what a signature under its visit says of it.
    untrailed: why nobody notes who changed it; "" for a table that is trailed.
    left_out: columns that the trail does not keep, each with the reason.
    part_of: names of the foreign keys that say on whose page its changes are told; by itself the
        first, people aside.
    has_page: whether its changes are told on a page of its own.
    chained: whether its changes are linked into the chain.
    seen_by: dotted path of a function (user, whole) -> whether the person may see these parts,
        where fewer may than see the whole.
    """

    belongs_to: tuple[str, ...] = ()
    archive: Goes | Named | Stays = field(default_factory=Goes)
    handover: Goes | Named | Stays | None = None
    links: str = ""
    frozen: Frozen | None = None
    signed: Signed | None = None
    untrailed: str = ""
    left_out: Mapping[str, str] = field(default_factory=dict)
    part_of: tuple[str, ...] = ()
    has_page: bool = False
    chained: bool = False
    seen_by: str = ""


def visit_signed(visit_id):
    """SQL that is true when the visit that `visit_id` (SQL with `{row}`) names was signed."""
    return f"EXISTS (SELECT 1 FROM shop_visit v WHERE v.id = {visit_id} AND v.state = 'signed')"


WITH_ITS_VISIT = Frozen(visit_signed("{row}.visit_id"))
# What was issued or done once is never changed, only added to.
FROM_THE_BEGINNING = Frozen("{row}.id IS NOT NULL", inserts=False)

WORKED_OUT = Record(
    archive=Stays("it is worked out from the rest"),
    untrailed="it is worked out from records that are trailed",
)


def our_apps():
    """The labels of the apps whose tables are declared, the lowest first."""
    configs = apps.get_app_configs()
    return [one.label for one in configs if getattr(one, "keeps_records", False)]


def our_models():
    """Every model of those apps, the tables of many-to-many fields included."""
    return [
        model
        for label in our_apps()
        for model in apps.get_app_config(label).get_models(include_auto_created=True)
    ]


def rules_of(model):
    """The `Record` of one of our models; raises AttributeError for one without.

    The table of a many-to-many field stays with the site, as its owner says.
    """
    if owner := model._meta.auto_created:
        return Record(archive=Stays(rules_of(owner).links))
    if "record_rules" not in vars(model):
        raise AttributeError(f"{model._meta.label} has no record_rules")
    return model.record_rules
