"""What a machine's page says of its standstills."""

from datetime import date, timedelta

from machines.register.models import Machine
from shop.hooks import Panel
from shop.snapshots.pages import standing_now

from .downtimes import records_of, times_in

MONTHS = 12
HOUR = timedelta(hours=1)


def downtime(machine, request):
    """How long it stood and ran this year, and why: up to now, so that only what is on record of
    it may stand."""
    first = date(machine.shop.today.year, 1, 1)
    this = Machine.objects.filter(pk=machine.pk)
    records = standing_now(machine.shop).keep(
        lambda: records_of(this, first, MONTHS), "downtime", machine.pk
    )
    (row,) = times_in(records, first, MONTHS)
    context = {"machine": machine, "row": row, "year": first.year}
    stopped = row.times.stopped if row.since else None
    told = f"stopped {stopped / HOUR:,.1f} h in {first.year}" if stopped else "never stopped"
    return Panel(
        "machines/panels/downtime.html",
        context,
        title="Stopped and running",
        summary=told if row.since else "nothing on record yet",
    )
