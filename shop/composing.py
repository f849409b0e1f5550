"""The plain things that the three apps hand to one another through the lists in settings."""

from dataclasses import dataclass, field
from datetime import datetime

from django.conf import settings
from django.utils.module_loading import import_string


@dataclass(frozen=True)
class Lack:
    """Something a visit still lacks before it can be signed, and where to settle it."""

    sentence: str
    url: str


@dataclass(frozen=True)
class Panel:
    """A part of a page: a template and what it is given."""

    template: str
    context: dict = field(default_factory=dict)


@dataclass(frozen=True)
class Event:
    """One line of a machine's history."""

    when: datetime
    kind: str
    title: str
    text: str = ""
    url: str = ""
    who: str = ""


def panels(paths, *args):
    """The panels that the functions named by `paths` make; a function may make none."""
    made = (import_string(path)(*args) for path in paths)
    return [panel for panel in made if panel is not None]


def history(machine, *, limit, before=None, since=None, kind="", station=None):
    """The newest `limit` events of a machine, older than `before`, from every source; all of them
    where `limit` is None.

    since: none older than that. kind: one of `history_kinds`, "" for all. station: the pk of a
    station, whose own life is then told. Each source runs a fixed number of queries and fetches at
    most `limit` rows, so a page of history costs the same however long the machine's life was.
    """
    about = {} if station is None else {"station": station}
    events = [
        event
        for path in _sources(kind, station)
        for event in import_string(path)(machine, limit=limit, before=before, **about)
        if since is None or event.when >= since
    ]
    return sorted(events, key=lambda event: event.when, reverse=True)[:limit]


def _sources(kind, station):
    sources = settings.HISTORY_SOURCES if station is None else settings.STATION_HISTORY_SOURCES
    return [path for of_kind, path in sources if not kind or of_kind == kind]


def history_kinds():
    """The kinds that a history can be filtered by, in the order of the alphabet."""
    return sorted({kind for kind, _path in settings.HISTORY_SOURCES})
