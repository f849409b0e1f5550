"""What the lists of hooks in settings name: functions of apps that the caller may not import."""

from django.conf import settings
from django.utils.module_loading import import_string


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
