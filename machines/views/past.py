"""Pages of a machine's past: its whole timeline, narrowed as asked, and taken out."""

from datetime import datetime

from django.http import Http404
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from shop.access import find
from shop.listing import csv_of, wants_csv

from ..past.filters import HistoryFilter
from ..past.tables import HistoryTable
from .floor import MACHINES

EVENTS_ON_PAGE = 25


@require_safe
def history(request, pk):
    """The machine's whole history, or what was asked for of it, newest first, a page at a time."""
    found = find(MACHINES, request.user, pk=pk)
    before = _moment(request.GET.get("before"))
    filters = HistoryFilter(request.GET, machine=found)
    asked = filters.is_valid()
    if asked and wants_csv(request):
        rows = filters.events(limit=None)
        return csv_of(HistoryTable(rows, zone=found.shop.zone), f"history-{found.number}")
    events, older = _page(filters, before, EVENTS_ON_PAGE) if asked else ([], None)
    return render(
        request,
        "machines/history.html",
        {"machine": found, "filters": filters, "events": events, "older": older, "asked": asked},
    )


def _page(filters, before, size):
    """One page of events and the moment before which the next page begins, None on the last.

    Events of one and the same moment are never parted, or the next page would miss some: a page
    ends before them, or grows until it holds them all.
    """
    events = filters.events(limit=size + 1, before=before)
    if len(events) <= size:
        return events, None
    page = [event for event in events if event.when > events[size].when]
    if not page:
        return _page(filters, before, 2 * size)
    return page, page[-1].when


def _moment(text):
    """A moment as it stands in an address; Http404 for what is none."""
    if not text:
        return None
    try:
        moment = datetime.fromisoformat(text)
    except ValueError as error:
        raise Http404("no such moment") from error
    if timezone.is_naive(moment):
        raise Http404("a moment without its zone")
    return moment
