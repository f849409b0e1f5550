"""What the alignment app knows of a machine's life.

Each source is `(machine, station=None) -> list[Past]`; station: the pk of the only station to tell
of.
"""

from functools import partial

from django.urls import reverse

from alignment.sheets import formatting
from alignment.sheets.directions import how_far_words
from machines.incidents.history import incidents
from shop.hooks import Event, HistorySource

from .models import Adjustment, Check


def stations(machine):
    """The stations a history can be narrowed to, in checking order."""
    return list(machine.stations.all())


def incidents_at(machine, station):
    """The incidents that hit a station."""
    (every,) = incidents(machine)
    hit = every.records.filter(stations_hit__station=station)
    return [HistorySource(hit, every.moment, every.tell)]


def checks(machine, station=None):
    """What was measured, what a later check corrected included, when it was entered."""
    made = Check.objects.of_machine(machine).select_related(
        "item__station__machine", "visit", "made_by", "corrected_by", "corrects__visit"
    )
    if station is not None:
        made = made.filter(item__station=station)
    return [HistorySource(made, "made_at", partial(_check, unit=machine.shop.length_unit))]


def _check(check, unit):
    return Event(
        when=check.made_at,
        kind="check",
        title=_sentence(
            f"{check}: {formatting.measure(check.told_um, unit, check)}, {check.verdict}"
        ),
        text=_check_text(check, unit),
        url=check.get_absolute_url(),
        who=check.made_by.name,
    )


def _check_text(check, unit):
    parts = [f"Tolerance {formatting.limits(check, unit)}."]
    if check.corrects:
        parts.append(f"Corrects the check made at visit {check.corrects.visit.number}.")
    if hasattr(check, "corrected_by"):
        parts.append("Corrected later.")
    return " ".join([*parts, check.note]).strip()


def adjustments(machine, station=None):
    """What was moved."""
    made = Adjustment.objects.filter(station__machine=machine).select_related(
        "station__machine", "made_by"
    )
    if station is not None:
        made = made.filter(station=station)
    return [HistorySource(made, "made_at", partial(_adjustment, unit=machine.shop.length_unit))]


def _adjustment(adjustment, unit):
    return Event(
        when=adjustment.made_at,
        kind="adjustment",
        title=_sentence(str(adjustment)),
        text=f"{adjustment.what}{how_far_words(adjustment, unit)}",
        url=f"{reverse('shop:visit', args=[adjustment.visit_id])}#station-{adjustment.station_id}",
        who=adjustment.made_by.name,
    )


def _sentence(text):
    return text[:1].upper() + text[1:]


# Each with the kind it is shown and filtered under.
SOURCES = [("checks", checks), ("adjustments", adjustments)]
# Those that can tell of one station: functions that also take its pk.
OF_STATION = [("incidents", incidents_at), *SOURCES]
