"""What a machine's page says of its standstills."""

from datetime import date

from django.utils import timezone

from machines.register.models import Machine
from shop.hooks import Panel
from shop.snapshots.pages import standing_now

from .downtimes import records_of, times_in

MONTHS = 12


def downtime(machine, request):
    """How long it stood and ran this year, and why: up to now, so that only what is on record of
    it may stand."""
    first = date(timezone.localdate(timezone=machine.shop.zone).year, 1, 1)
    this = Machine.objects.filter(pk=machine.pk)
    records = standing_now(machine.shop).keep(
        lambda: records_of(this, first, MONTHS), "downtime", machine.pk
    )
    (row,) = times_in(records, first, MONTHS)
    context = {"machine": machine, "row": row, "year": first.year}
    return Panel("machines/panels/downtime.html", context)
