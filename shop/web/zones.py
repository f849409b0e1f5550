"""Time zones by the names people call them: 'Central Time' is America/Chicago.

What operating systems call a zone, and its main place, is CLDR's list (windowsZones), which Babel
carries. Abbreviations that several countries share are read as those of the table below (common
practice, no source).
"""

import re
import zoneinfo
from functools import cache

from babel.core import get_global

ABBREVIATED = {
    "et": "America/New_York",
    "est": "America/New_York",
    "edt": "America/New_York",
    "ct": "America/Chicago",
    "cst": "America/Chicago",
    "cdt": "America/Chicago",
    "mt": "America/Denver",
    "mst": "America/Denver",
    "mdt": "America/Denver",
    "pt": "America/Los_Angeles",
    "pst": "America/Los_Angeles",
    "pdt": "America/Los_Angeles",
    "bst": "Europe/London",
    "greenwich mean": "Europe/London",
    "cet": "Europe/Berlin",
    "cest": "Europe/Berlin",
    "central europe": "Europe/Berlin",
    "central european": "Europe/Berlin",
    "eastern european": "Europe/Bucharest",
    "western european": "Europe/Lisbon",
    "japan": "Asia/Tokyo",
    "jst": "Asia/Tokyo",
    "ist": "Asia/Kolkata",
    "aest": "Australia/Sydney",
}
MOST_NAMED = 5


class UnknownZone(ValueError):
    """No one time zone is called so; the message says what was expected."""


def zone_named(text):
    """The name, such as America/Chicago, of the time zone that somebody means.

    Takes the name itself in any case, what people and operating systems call it ('Central Time',
    'Central Daylight Time', 'CST'), and a city ('Chicago'). Raises UnknownZone for what is none, or
    could be several.
    """
    called = _plain(text)
    if called in ABBREVIATED:
        return ABBREVIATED[called]
    for names in (_own_names(), _system_names(), _cities()):
        if found := names.get(called):
            return found
    near = sorted({zone for name, zone in _cities().items() if called and called in name})
    if len(near) == 1:
        return near[0]
    if near:
        raise UnknownZone(f"'{text}' could be {', '.join(near[:MOST_NAMED])}; type which.")
    raise UnknownZone(
        f"'{text}' is not a time zone; expected one such as America/Chicago, a city, or what "
        "people call it, such as Central Time."
    )


@cache
def zone_names():
    """The zones to choose from: those with a place in their name, and UTC."""
    return [
        "UTC",
        *sorted(name for name in zoneinfo.available_timezones() if _is_of_a_place(name)),
    ]


def _is_of_a_place(name):
    return "/" in name and not name.startswith(("Etc/", "posix/", "right/", "SystemV/", "US/"))


def _plain(text):
    """In small letters, without 'time', 'standard' and 'daylight', one blank between words."""
    words = re.sub(r"[_\s]+", " ", text.strip().lower())
    return re.sub(r"\s*\b(standard|daylight|summer|time)\b", "", words).strip()


@cache
def _own_names():
    return {_plain(name): name for name in zoneinfo.available_timezones()}


@cache
def _system_names():
    mapping = get_global("windows_zone_mapping")
    return {_plain(name): zone for name, zone in mapping.items() if zone in _own_names().values()}


@cache
def _cities():
    return {_plain(name.rsplit("/", 1)[-1]): name for name in zone_names() if "/" in name}
