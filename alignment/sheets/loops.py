"""Lines that close a loop: a station measured from another one than its datum."""

from django.db import transaction
from django.db.models import Max

from shop.web.errors import Refused

from .models import AcceptanceItem


@transaction.atomic
def close_loop(*, station, measured_from, indicator_in, look, plane_mm, surface, upper_um):
    """The line of the sheet in force that closes a loop, made unless it is there already.

    Raises Refused without a sheet in force, and for what closes no loop.
    """
    sheet = station.machine.sheets.filter(is_current=True).first()
    if sheet is None:
        raise Refused("No sheet is in force for this machine; enter one first.")
    if measured_from.pk in (station.pk, station.datum_id):
        raise Refused(
            f"The {station} measured from the {measured_from} closes no loop; choose another."
        )
    said = {"indicator_in": indicator_in, "look": look, "plane_mm": plane_mm, "surface": surface}
    same = sheet.items.filter(station=station, measured_from=measured_from, **said).first()
    if same is not None:
        return same
    last = sheet.items.aggregate(last=Max("position"))["last"] or 0
    return AcceptanceItem.objects.create(
        sheet=sheet,
        station=station,
        measured_from=measured_from,
        position=last + 1,
        name=f"directly from the {measured_from}"[:120],
        quantity=AcceptanceItem.Quantity.OFFSET,
        upper_um=upper_um,
        **said,
    )
