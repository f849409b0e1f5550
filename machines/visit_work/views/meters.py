"""Pages of a machine's meters: what they show, entering a reading, bringing in a list."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from machines.register.meter_forms import LeaveOutForm, MeterReadingForm, ReadingListForm
from machines.register.meter_records import bring_in, leave_out, standings
from machines.register.models import Machine, MeterReading
from machines.register.tables import MeterReadingTable
from machines.visit_work.services import read_meter
from shop.people.access import ANYONE, demand, find
from shop.people.models import Shop
from shop.visits.access import visit_named
from shop.web.errors import Refused
from shop.web.listing import arrange, csv_of, wants_csv

MACHINES = Machine.objects.select_related("shop").with_stop_state()


@require_safe
def meters(request, pk):
    """What a machine's meters show, how much it is used, and every reading."""
    found = find(MACHINES, request.user, pk=pk)
    readings = found.meter_readings.select_related("machine__shop", "visit", "made_by")
    table = arrange(request, MeterReadingTable(readings))
    if wants_csv(request):
        return csv_of(table, f"meters-{found.number}")
    return render(
        request,
        "machines/meters.html",
        {"machine": found, "table": table, "standings": standings(found)},
    )


def read(request, pk):
    """Enter what a meter shows: by anybody at the machine, or as part of a visit."""
    found = find(MACHINES, request.user, pk=pk)
    demand(request.user, found.shop, ANYONE)
    visit = visit_named(request, found.shop)
    form = MeterReadingForm(
        request.POST or None,
        zone=found.shop.zone,
        initial={"read_at": timezone.now(), "kind": request.GET.get("kind")},
    )
    if form.is_valid() and (reading := _read(form, found, visit, request.user)):
        messages.success(request, f"Machine {found.number}: {reading} is saved.")
        return redirect(visit or found)
    return render(
        request,
        "machines/read_meter.html",
        {"machine": found, "visit": visit, "form": form, "standings": standings(found)},
    )


def _read(form, machine, visit, user):
    try:
        return read_meter(machine=machine, visit=visit, made_by=user, **form.cleaned_data)
    except Refused as refusal:
        form.add_error("value", str(refusal))
        return None


def leave_reading_out(request, pk):
    """Count a reading found wrong no longer."""
    found = find(
        MeterReading.objects.select_related("machine__shop", "left_out_by"), request.user, pk=pk
    )
    demand(request.user, found.machine.shop, ANYONE)
    form = LeaveOutForm(request.POST or None)
    if form.is_valid():
        try:
            leave_out(found, by=request.user, why=form.cleaned_data["why"])
            messages.success(request, "The reading no longer counts.")
            return redirect("machines:meters", found.machine_id)
        except Refused as refusal:
            form.add_error("why", str(refusal))
    return render(
        request,
        "machines/leave_out_reading.html",
        {"reading": found, "machine": found.machine, "form": form},
    )


def import_readings(request):
    """Bring in a list of readings: first it is shown, then brought in, all or none."""
    shops = Shop.objects.visible_to(request.user)
    if not shops.exists():
        raise PermissionDenied
    form = ReadingListForm(request.POST or None, request.FILES or None, shops=shops)
    if not form.is_valid():
        return render(request, "machines/bring_in_readings.html", {"form": form})
    rows, shop = form.cleaned_data["rows"], form.cleaned_data["shop"]
    demand(request.user, shop, ANYONE)
    wrong = [row for row in rows if row.wrong]
    refusal = ""
    if "bring_in" in request.POST and not wrong:
        try:
            count = bring_in(rows, made_by=request.user)
            messages.success(request, _brought_in(count, len(rows)))
            return redirect("machines:machines")
        except Refused as error:
            refusal = str(error)
    return render(
        request,
        "machines/preview_readings.html",
        {
            "rows": rows,
            "wrong": wrong,
            "shop": shop,
            "text": form.cleaned_data["text"],
            "refusal": refusal,
        },
    )


def _brought_in(count, of):
    known = f" {of - count} were on record already." if of > count else ""
    return f"{count} reading{'' if count == 1 else 's'} imported.{known}"
