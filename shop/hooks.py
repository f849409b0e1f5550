"""The plain things that the three apps hand to one another through the lists in settings."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import datetime

from django.conf import settings
from django.db.models import Expression, F, IntegerField, Model, QuerySet, Value
from django.utils.module_loading import import_string


@dataclass(frozen=True)
class SigningBlocker:
    """Something a visit still lacks before it can be signed, and where to settle it.

    may_wait: whether a note of what one comes back for explains it.
    """

    sentence: str
    url: str
    may_wait: bool = True


@dataclass(frozen=True)
class Panel:
    """A part of a page: a template and what it is given.

    title: of a part that is folded up to a line; summary: what that line says besides.
    """

    template: str
    context: dict = field(default_factory=dict)
    title: str = ""
    summary: str = ""


@dataclass(frozen=True)
class Event:
    """One line of a machine's history."""

    when: datetime
    kind: str
    title: str
    text: str = ""
    url: str = ""
    who: str = ""


@dataclass(frozen=True)
class HistorySource:
    """Records that a machine's history tells of.

    moment: the field, or the expression, that says when each of them happened. tell: a function
    that makes an `Event` of one.
    """

    records: QuerySet
    moment: str | Expression
    tell: Callable[[Model], Event]

    def between(self, since, before):
        """Only those not older than `since` and older than `before`, where these are given."""
        moment = F(self.moment) if isinstance(self.moment, str) else self.moment
        records = self.records.annotate(told_at=moment)
        if since is not None:
            records = records.filter(told_at__gte=since)
        if before is not None:
            records = records.filter(told_at__lt=before)
        return replace(self, records=records)

    def newest(self):
        """All of them, newest first; of what `between` gave."""
        return self.records.order_by("-told_at", "-pk")

    def keys(self, place, limit):
        """(place, pk, told_at) of the newest `limit`, for one query with those of others; of what
        `between` gave."""
        newest = self.newest().values("pk")[:limit]
        keys = self.records.filter(pk__in=newest).order_by()
        placed = keys.annotate(told_by=Value(place, IntegerField()))
        return placed.values_list("told_by", "pk", "told_at")


def panels(paths, *args):
    """The panels that the functions named by `paths` make; a function may make none."""
    made = (panel(*args) for panel in hooks(paths))
    return [panel for panel in made if panel is not None]


def history(machine, *, limit, before=None, since=None, kind="", station=None):
    """The newest `limit` events of a machine, older than `before`, from every source; all of them
    where `limit` is None.

    since: none older than that. kind: one of `history_kinds`, "" for all. station: the pk of a
    station, whose own life is then told. One query finds the newest records of all sources, and
    only those are fetched: one query more for each `Past` that is among them, and what it asks
    for besides.
    """
    pasts = [past.between(since, before) for past in _pasts(machine, kind, station)]
    if limit is None:
        events = [past.tell(record) for past in pasts for record in past.newest()]
        return sorted(events, key=lambda event: event.when, reverse=True)
    newest = _newest(pasts, limit)
    told = {}
    for place, past in enumerate(pasts):
        if pks := [pk for at, pk in newest if at == place]:
            told |= {(place, one.pk): past.tell(one) for one in past.records.filter(pk__in=pks)}
    return [told[key] for key in newest]


def _newest(pasts, limit):
    """(place among `pasts`, pk) of the newest records of all, newest first; one query."""
    first, *others = [past.keys(place, limit) for place, past in enumerate(pasts)]
    together = first.union(*others, all=True).order_by("-told_at", "told_by", "-pk")
    return [(place, pk) for place, pk, _told_at in together[:limit]]


def _pasts(machine, kind, station):
    sources = hooks(settings.HISTORY_SOURCES) if station is None else from_above("station")
    about = {} if station is None else {"station": station}
    return [
        past
        for of_kind, source in sources
        if not kind or of_kind == kind
        for past in source(machine, **about)
    ]


def history_kinds():
    """The kinds that a history can be filtered by, in the order of the alphabet."""
    return sorted({kind for kind, _source in hooks(settings.HISTORY_SOURCES)})


def hooks(entries, *, about=None):
    """What the dotted paths in `entries` name, in their order; a path may name a list of them.

    about: of a list of pairs only those whose first half it is.
    """
    paths = entries if about is None else [path for what, path in entries if what == about]
    found = []
    for path in paths:
        named = import_string(path)
        found += named if isinstance(named, list) else [named]
    return found


def from_above(name):
    """The one thing that `FROM_ABOVE` in settings has under a name."""
    return import_string(settings.FROM_ABOVE[name])
