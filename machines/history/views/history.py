"""Pages of a machine's past: its whole timeline, narrowed as asked and taken out, and what
changed between two visits, and the history on paper."""

from datetime import datetime
from urllib.parse import urlencode

from django.conf import settings
from django.contrib import messages
from django.http import Http404
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from machines.history.between import Between, BetweenForm, visits_of
from machines.history.filters import HistoryFilter
from machines.history.issued import issue_history
from machines.history.tables import HistoryTable
from machines.register.views.floor import AS_READ, MACHINES
from shop.hooks import panels
from shop.people.access import CONTRACTOR, DESK, demand, find, role_at
from shop.snapshots.pages import standing_as_read
from shop.web.forms import EntryForm
from shop.web.listing import csv_of, wants_csv, whole_number

EVENTS_ON_PAGE = 25
ISSUED_SHOWN = 12


@require_safe
def history(request, pk):
    """The machine's whole history, or what was asked for of it, newest first, a page at a time."""
    found = find(AS_READ, request.user, pk=pk)
    standing = standing_as_read(found, found.shop)
    before = _moment(request.GET.get("before"))
    filters = HistoryFilter(request.GET, machine=found)
    asked = filters.is_valid()
    if asked and wants_csv(request):
        rows = filters.events(limit=None)
        return csv_of(HistoryTable(rows, zone=found.shop.zone), f"history-{found.number}")
    events, older = _standing_page(standing, filters, before) if asked else ([], None)
    issued = standing.keep(lambda: _issued(found), "issued", found.pk)
    return render(
        request,
        "machines/history.html",
        {
            "machine": found,
            "filters": filters,
            "asked": asked,
            "events": events,
            "older": older,
            "issued": issued,
            "may_issue": role_at(request.user, found.shop) in DESK,
        },
    )


@require_safe
def changes(request, pk):
    """What changed on a machine between two of its visits: the newest and the one before, unless
    others are asked for."""
    found = find(MACHINES, request.user, pk=pk)
    visits = visits_of(found)
    since, until = (_asked_visit(visits, request.GET.get(name)) for name in ("since", "until"))
    context = {"machine": found, "may_open_visit": role_at(request.user, found.shop) in CONTRACTOR}
    count = visits.count()
    if count < 2:
        context["nothing"] = "Only one visit so far" if count else "No visit yet"
        return render(request, "machines/changes.html", context)
    until = until or visits[0]
    since = since or _before(visits, until)
    form = BetweenForm({"since": since.pk, "until": until.pk}, machine=found)
    if form.is_valid():
        between = Between(
            machine=found,
            earlier=form.cleaned_data["since"],
            later=form.cleaned_data["until"],
            unit=request.user.length_unit,
        )
        context["panels"] = panels(settings.CHANGE_SECTIONS, between)
    return render(request, "machines/changes.html", context | {"form": form})


def _asked_visit(visits, pk):
    """One of a machine's visits by its pk as it stands in an address, None for none; Http404 for
    what is none of them."""
    if not pk:
        return None
    visit = visits.filter(pk=whole_number(pk)).first()
    if visit is None:
        raise Http404("no such visit of this machine")
    return visit


def _before(visits, until):
    """The visit before another, itself where it was the first."""
    return visits.filter(arrived_at__lt=until.arrived_at).first() or until


def issue(request, pk):
    """Issue the machine's history up to now as a document."""
    found = find(MACHINES, request.user, pk=pk)
    demand(request.user, found.shop, DESK)
    form = EntryForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        membership = request.user.memberships.current().select_related("firm").get(shop=found.shop)
        issued = issue_history(
            found,
            made_by=request.user,
            firm=membership.firm,
            entry_id=form.cleaned_data["entry_id"],
        )
        messages.success(request, f"{issued.document} is issued and kept; find it below.")
        return redirect(f"{reverse('machines:history', args=[found.pk])}#issued")
    return render(request, "machines/issue_history.html", {"machine": found, "form": form})


def _issued(machine):
    return list(machine.issued_histories.select_related("document", "made_by")[:ISSUED_SHOWN])


def _standing_page(standing, filters, before):
    asked = urlencode({"before": before, **filters.cleaned_data})
    return standing.keep(
        lambda: _page(filters, before, EVENTS_ON_PAGE), "history", filters.machine.pk, asked
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
