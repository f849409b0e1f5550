"""What follows when a check or an adjustment is withdrawn, restored or moved to where it belongs.

Nothing has to be undone: what stands, what is stale and what drifts is worked out from the records
in force.
"""

from alignment.sheets.models import AcceptanceItem
from machines.register.models import Station
from shop.visits.withdrawing import Effects
from shop.web.errors import Refused

from .measuring import stored_sweeps
from .models import Adjustment
from .services import save_check

ADJUSTED = ("what", "front_um", "up_um", "right_um")


class _OfACheck(Effects):
    """A check may belong to another line of the sheet that is swept alike."""

    def targets(self, record):
        item = record.item
        alike = AcceptanceItem.objects.in_force().filter(sheet__machine=item.sheet.machine_id)
        return alike.filter(surface=item.surface).exclude(pk=item.pk).select_related("station")

    def moved(self, record, target, by):
        try:
            return save_check(
                visit=record.visit,
                item=target,
                phase=record.phase,
                sweeps=stored_sweeps(record),
                made_by=record.made_by,
                note=record.note,
                made_at=record.made_at,
            )
        except ValueError as problem:
            raise Refused(f"Its readings do not tell that: {problem}") from problem


class _OfAnAdjustment(Effects):
    """An adjustment may belong to another station of its machine."""

    def targets(self, record):
        stations = Station.objects.current().filter(machine=record.station.machine_id)
        return stations.exclude(pk=record.station_id)

    def moved(self, record, target, by):
        said = {name: getattr(record, name) for name in ADJUSTED}
        return Adjustment.objects.create(
            visit=record.visit,
            station=target,
            made_by=record.made_by,
            made_at=record.made_at,
            **said,
        )


OF_A_CHECK, OF_AN_ADJUSTMENT = _OfACheck(), _OfAnAdjustment()
