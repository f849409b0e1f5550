"""What changes how a station is set up; a new line where signed checks rest on the old setting."""

from django.db import transaction
from django.db.models import Exists, Max, OuterRef
from django.utils import timezone

from alignment.adjusting.models import AdjustingWay
from alignment.sheets.models import AcceptanceItem
from alignment.sweeps.models import Adjustment, Check
from alignment.sweeps.reweighing import open_checks, weigh_anew
from machines.register.models import Machine, Station
from shop.visits.models import Visit
from shop.web.errors import Refused

# What the figures of a check mean rests on these.
MEANING = ("datum", "indicator_in", "look", "plane_mm")


def signed_checks_rest_on(station):
    """Whether a signed check was measured at a station as it is set up."""
    return Check.objects.filter(item__station=station, visit__signed_at__isnull=False).exists()


def signed_checks_tell_a_side(machine):
    """Whether a signed check or adjustment of a machine says front or rear by a dial's view.

    All do but the height of a flat; adjustments only where they were entered in that view.
    """
    signed = Check.objects.filter(item__station__machine=machine, visit__signed_at__isnull=False)
    turned = Adjustment.objects.filter(
        station__machine=machine, visit__signed_at__isnull=False, right_um__isnull=False
    )
    return signed.exclude(item__surface="flat", item__quantity="up").exists() or turned.exists()


def means_otherwise(station, said):
    """Whether what is said of a station gives its checks another meaning.

    said: a mapping of field names, `MEANING` among them, to their values.
    """
    return any(said[name] != getattr(station, name) for name in MEANING if name in said)


SETTINGS = ("name", "kind", "datum", "how", "indicator_in", "look", "plane_mm")


@transaction.atomic
def set_up_station(station, **said):
    """Change how a station is set up, by `SETTINGS`; what is not said stays.

    Its checks that are not signed yet are weighed anew by the new setting. Raises Refused for a
    station that was ended, and where the meaning of signed checks would change: `begin_new_line`
    is for that.
    """
    station = _locked(station)
    if means_otherwise(station, said) and signed_checks_rest_on(station):
        raise Refused(
            f"Signed checks rest on how the {station} is set up, so it stays as it is. Begin a "
            "new line of it."
        )
    weighed = open_checks(item__station=station) if means_otherwise(station, said) else []
    _say(station, said)
    station.save(update_fields=list(said))
    weigh_anew(weighed)
    return station


@transaction.atomic
def change_machine(machine, **said):
    """Change what is known of a machine, such as its name or `headstock_side`.

    With another side front and rear change places in every dial's view, so checks that are not
    signed yet are weighed anew. Raises Refused for that where a signed check tells a side.
    """
    machine = Machine.objects.select_for_update().get(pk=machine.pk)
    turns = said.get("headstock_side", machine.headstock_side) != machine.headstock_side
    if turns and signed_checks_tell_a_side(machine):
        raise Refused(
            "Signed checks of this machine say front and rear by the side its headstock stands "
            f"on, so that stays {machine.get_headstock_side_display()}."
        )
    weighed = open_checks(item__station__machine=machine) if turns else []
    for name, value in said.items():
        setattr(machine, name, value)
    machine.save(update_fields=list(said))
    weigh_anew(weighed)
    return machine


@transaction.atomic
def begin_new_line(station, **said):
    """End a station's line and begin another at the same place, set up as said; returns it.

    The old one keeps its checks, adjustments and hits. What is measured from it is measured from
    the new one, which gets its lines of the sheet in force and its ways of adjusting. Raises
    Refused for a line that was ended before, and while a visit that measured it is not signed.
    """
    old = _locked(station)
    _refuse_while_being_measured(old)
    now = timezone.now()
    old.ended_on = now.astimezone(old.machine.shop.zone).date()
    old.save(update_fields=["ended_on"])
    new = Station(machine=old.machine, position=old.position, follows=old, begun_at=now)
    _say(new, {name: getattr(old, name) for name in SETTINGS} | said)
    new.save()
    old.measured_from_it.current().update(datum=new)
    AdjustingWay.objects.bulk_create(_copies(old.ways.all(), station=new))
    _carry_sheet_lines(old, new)
    return new


def _locked(station):
    """The station as it is now, with its machine locked: one change at a time."""
    Machine.objects.select_for_update().get(pk=station.machine_id)
    station = Station.objects.select_related("machine__shop", "datum").get(pk=station.pk)
    if station.ended_on is not None:
        raise Refused(f"This line of the {station} was ended; change the one that follows it.")
    return station


def _refuse_while_being_measured(station):
    going_on = Visit.objects.filter(
        checks__item__station=station, checks__withdrawn_at__isnull=True, signed_at__isnull=True
    )
    if visit := going_on.first():
        raise Refused(
            f"Visit {visit.number} measured the {station} and is not signed. Sign it first; what "
            "it measured goes by how the station was set up."
        )


def _say(station, said):
    for name, value in said.items():
        if name not in SETTINGS:
            raise TypeError(f"{name!r} is no setting of a station.")
        setattr(station, name, value)


def _copies(records, **changed):
    """Unsaved copies of records, with some fields changed."""
    for record in records:
        record.pk = None
        record._state.adding = True
        for name, value in changed.items():
            setattr(record, name, value)
        yield record


def _carry_sheet_lines(old, new):
    """Enter the old station's lines of the sheet in force again, behind the others, for the new,
    and those that are swept from it. Of the latter those nothing signed rests on are turned to the
    new one."""
    current = AcceptanceItem.objects.filter(sheet__machine=old.machine, sheet__is_current=True)
    last = current.aggregate(last=Max("position"))["last"]
    loops = current.filter(measured_from=old, station__ended_on__isnull=True)
    signed = Check.objects.filter(item=OuterRef("pk"), visit__signed_at__isnull=False)
    loops.exclude(Exists(signed)).update(measured_from=new)
    copies = [
        *_copies(old.items.filter(sheet__is_current=True).order_by("position"), station=new),
        *_copies(loops.filter(Exists(signed)).order_by("position"), measured_from=new),
    ]
    for position, line in enumerate(copies, start=(last or 0) + 1):
        line.position = position
    AcceptanceItem.objects.bulk_create(copies)
