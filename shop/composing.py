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


def history(machine, *, limit, before=None):
    """The newest `limit` events of a machine, older than `before`, from every source.

    Each source runs a fixed number of queries and fetches at most `limit` rows, so a page of
    history costs the same however long the machine's life was.
    """
    events = [
        event
        for path in settings.HISTORY_SOURCES
        for event in import_string(path)(machine, limit=limit, before=before)
    ]
    return sorted(events, key=lambda event: event.when, reverse=True)[:limit]
