"""Visits and breaks from service in a machine's history."""

from functools import partial

from django.db.models.functions import Coalesce

from shop.hooks import Event, HistorySource
from shop.web.wording import day_text


def service_breaks(machine):
    """When the machine was taken out of service and put back, as entered."""
    ended = machine.breaks.filter(back_on__isnull=False).select_related("back_by")
    return [
        HistorySource(machine.breaks.select_related("made_by"), "made_at", _taken_out),
        HistorySource(ended, "back_at", _put_back),
    ]


def _taken_out(one):
    return Event(
        when=one.made_at,
        kind="out of service",
        title=f"Taken out of service on {day_text(one.out_on)}",
        text=one.reason,
        who=one.made_by.name,
    )


def _put_back(one):
    return Event(
        when=one.back_at,
        kind="in service",
        title=f"Put back in service on {day_text(one.back_on)}",
        text=one.back_reason,
        who=one.back_by.name,
    )


def visits(machine):
    """Visits at which the machine was worked on, by arrival, or by entry while planned."""
    visited = machine.visited.select_related("visit__contractor", "visit__firm")
    began = Coalesce("visit__arrived_at", "visit__made_at")
    return [HistorySource(visited, began, partial(_visit, shop=machine.shop))]


def _visit(here, shop):
    return Event(
        when=here.told_at,
        kind="visit",
        title=f"{here.visit}, {_state(here.visit, shop)}",
        text=here.visit.purpose,
        url=here.visit.get_absolute_url(),
        who=f"{here.visit.contractor.name}, {here.visit.firm}",
    )


def _state(visit, shop):
    if visit.is_signed:
        return f"signed on {day_text(visit.signed_at.astimezone(shop.zone))}"
    return visit.get_state_display()
