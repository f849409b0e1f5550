"""What a machine's page says of its standstills."""

from datetime import date

from django.utils import timezone

from shop.composing import Panel

from ..models import Machine
from .downtimes import times_of


def downtime(machine, request):
    """How long it stood and ran this year, and why; three queries."""
    year = timezone.localdate(timezone=machine.shop.zone).year
    (row,) = times_of(Machine.objects.filter(pk=machine.pk), date(year, 1, 1), 12)
    return Panel("machines/panels/downtime.html", {"machine": machine, "row": row, "year": year})
