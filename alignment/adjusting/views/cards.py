"""A station's procedure card at a visit: its steps, what to mind at each, who ticked it when."""

from django.contrib import messages
from django.shortcuts import redirect, render

from alignment.adjusting.cards import PARTS, card_of
from alignment.adjusting.ticking import take_tick_back, tick
from alignment.sweeps.views.workplace import station_at
from shop.people.access import demand_work, find, may_enter
from shop.visits.models import Visit
from shop.web.errors import Refused

TICK, TAKE_BACK = "tick", "take_back"


def card(request, visit_pk, pk):
    """Show the card; the contractor ticks its steps until the visit is signed."""
    visit = find(Visit.objects.select_related("shop"), request.user, pk=visit_pk)
    station = station_at(visit, request, pk)
    if request.method == "POST":
        demand_work(request.user, visit)
        key = _changed(request, visit, station)
        return redirect(f"{request.path}#step-{key}" if key else request.path)
    may_tick = may_enter(request.user, visit)
    return render(
        request,
        "alignment/card.html",
        {
            "visit": visit,
            "station": station,
            "machine": station.machine,
            "machine_url": station.machine.get_absolute_url(),
            "parts": _parts(visit, station),
            "belts": station.machine.belts.all(),
            "may_tick": may_tick,
        },
    )


def _changed(request, visit, station):
    """The key of the step that was ticked or taken back; "" where it was refused."""
    key = request.POST.get(TICK) or request.POST.get(TAKE_BACK) or ""
    try:
        if TICK in request.POST:
            tick(visit=visit, station=station, key=key, made_by=request.user)
        elif TAKE_BACK in request.POST:
            take_tick_back(visit=visit, station=station, key=key, by=request.user)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return ""
    return key if key.replace("-", "").isalnum() else ""


def _parts(visit, station):
    """(part, rows) of the card, each row a step with its tick or None."""
    ticks = visit.ticks.filter(station=station).select_related("made_by")
    done = {tick.step: tick for tick in ticks}
    steps = card_of(station)
    return [
        (part, [{"step": s, "tick": done.get(s.key)} for s in steps if s.part == part])
        for part in PARTS
    ]
