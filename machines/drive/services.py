"""What changes the records of the drive train."""

from decimal import Decimal

from django.db import transaction
from django.db.models import ProtectedError
from django.utils import timezone

from machines.visit_work.services import add_machine_to_visit
from shop.visits.services import for_work
from shop.web.entries import entered_once, identified
from shop.web.errors import Refused

from .inspecting import refuse_second_correction
from .lives import start_of
from .models import (
    BearingInspection,
    Fitting,
    Part,
    Rebuild,
    Recommendation,
    RecommendationStep,
    Removal,
    Thresholds,
    ToothPhoto,
)
from .recommending import recommend, refuse_settled, take_step

# Where a part that is fitted is taken from: the fields of its stock.
STOCK = {"in_van": "the van", "on_shelf": "the shelf"}
LONGEST_PEAK_LIST = 20


@entered_once(Rebuild)
def note_rebuild(*, assembly, made_by, visit=None, entry_id=None, **account):
    """Note that an assembly was taken apart and put together; account: the other fields."""
    visit = _worked_at(visit, assembly.machine)
    if account.get("new_bushing") and assembly.kind != assembly.Kind.HOUSING:
        raise Refused("Only the guide bushing housing has a guide bushing.")
    rebuild = Rebuild.objects.create(
        assembly=assembly, visit=visit, made_by=made_by, **account, **identified(entry_id)
    )
    recommend(assembly.machine, visit=visit, made_by=made_by, made_at=rebuild.made_at)
    return rebuild


@transaction.atomic
def remove_place(place):
    """Take a belt, a bearing, a housing or a jack shaft off its machine, as if never entered.

    Raises Refused where anything is on record of it.
    """
    try:
        place.delete()
    except ProtectedError as error:
        raise Refused(
            f"Something is on record of the {place}, or sits in it, so it stays."
        ) from error


def _worked_at(visit, machine):
    """The visit, locked, with the machine taken up at it; None stays None."""
    if visit is None:
        return None
    visit = for_work(visit)
    add_machine_to_visit(visit, machine)
    return visit


@entered_once(RecommendationStep)
def fit_advised(
    recommendation, *, made_by, visit=None, note="", entry_id=None, made_at=None, **what
):
    """Note that what was recommended is fitted: the old one's life closes, the new one's opens.

    what: the part, serial, quantity, why the old one came out, where the new one was taken from,
    as `fit` takes them; the part is the recommended one unless another is named.
    """
    at = made_at or timezone.now()
    locked = Recommendation.objects.select_for_update().get(pk=recommendation.pk)
    refuse_settled(locked)
    if locked.place is None:
        raise Refused("It is neither a belt nor a bearing; say that it is done.")
    what.setdefault("part", locked.part)
    what.setdefault("quantity", locked.quantity)
    approved = locked.steps.filter(unit_price__isnull=False).last()
    fitting = _put_in(
        locked.place,
        made_by=made_by,
        visit=_worked_at(visit, locked.machine),
        at=at,
        unit_price=approved.unit_price if approved else None,
        **what,
    )
    step = take_step(
        locked,
        RecommendationStep.State.FITTED,
        made_by=made_by,
        note=note,
        fitting=fitting,
        entry_id=entry_id,
        made_at=at,
    )
    settle_the_rest(locked.place, visit=visit, made_by=made_by, at=at)
    return step


@entered_once(Fitting)
def fit(place, *, made_by, visit=None, entry_id=None, made_at=None, **what):
    """Note that a new belt or bearing was fitted without having been recommended."""
    at = made_at or timezone.now()
    visit = _worked_at(visit, place.machine)
    fitting = _put_in(place, made_by=made_by, visit=visit, at=at, entry_id=entry_id, **what)
    settle_the_rest(place, visit=visit, made_by=made_by, at=at)
    return fitting


def _put_in(
    place,
    *,
    made_by,
    visit,
    at,
    part=None,
    serial="",
    quantity=1,
    why=Removal.Why.WORN,
    taken_from="",
    unit_price=None,
    entry_id=None,
):
    old = _unit_in(place, made_by)
    if old is not None:
        if old.fitted_at > at:
            raise Refused("The one that is in was fitted later than that.")
        Removal.objects.create(fitting=old, visit=visit, removed_at=at, why=why, made_by=made_by)
    part = part or place.part
    if taken_from:
        _take_from_stock(part, taken_from, quantity)
    place.part = part
    place.fitted_on = timezone.localdate(at, timezone=place.machine.shop.zone)
    place.save(update_fields=["part", "fitted_on"])
    return Fitting.objects.create(
        **_of(place),
        part=part,
        visit=visit,
        serial=serial.strip(),
        fitted_at=at,
        quantity=quantity,
        unit_price=unit_price if unit_price is not None else part and part.price,
        taken_from=taken_from,
        made_by=made_by,
        **identified(entry_id),
    )


def _unit_in(place, made_by):
    """The fitting of what is in a place; made from the day noted there if the record is younger.

    None when nobody knows when it was fitted.
    """
    fitting = place.fittings.in_place().first()
    if fitting is not None or place.fitted_on is None:
        return fitting
    return Fitting.objects.create(
        **_of(place),
        part=place.part,
        from_the_start=True,
        fitted_at=start_of(place.fitted_on, place.machine.shop),
        made_by=made_by,
    )


def _of(place):
    """The keyword that names a belt or a bearing."""
    return {place._meta.model_name: place}


def _take_from_stock(part, taken_from, quantity):
    if part is None:
        raise Refused("Say which part it is; without it nothing can be taken from stock.")
    stocked = Part.objects.select_for_update().get(pk=part.pk)
    left = getattr(stocked, taken_from) - quantity
    if left < 0:
        raise Refused(
            f"On record there are {left + quantity} of {stocked.number} in {STOCK[taken_from]}, "
            f"not {quantity}. Correct the stock, or say that it came from elsewhere."
        )
    setattr(stocked, taken_from, left)
    stocked.save(update_fields=[taken_from])


def settle_the_rest(place, *, visit, made_by, at):
    """Take back what the rules said of the one that came out, and ask them about the new one."""
    others = place.recommendations.open().exclude(rule="")
    for other in others:
        take_step(
            other,
            RecommendationStep.State.WITHDRAWN,
            made_by=made_by,
            note="a new one was fitted",
            made_at=at,
        )
    recommend(place.machine, visit=visit, made_by=made_by, made_at=at)


@entered_once(BearingInspection)
def inspect_bearing(
    *, bearing, made_by, visit=None, corrects=None, entry_id=None, made_at=None, **found
):
    """Record one look at a bearing and bring the recommendations up to date.

    found: the other fields; the shop's zone limits are kept with it, so that a later change of
    them does not change what was said. Raises Refused for an empty look, frequencies that cannot
    be, a visit that was signed, and a correction of another bearing's inspection.
    """
    visit = _worked_at(visit, bearing.machine)
    if corrects is not None and corrects.bearing_id != bearing.pk:
        raise Refused("That inspection is another bearing's.")
    refuse_second_correction(corrects)
    _check_found(bearing, found)
    inspection = BearingInspection.objects.create(
        bearing=bearing,
        visit=visit,
        corrects=corrects,
        made_by=made_by,
        made_at=made_at or timezone.now(),
        zone_limits=_kept(Thresholds.of(bearing.machine.shop).zone_limits),
        **found,
        **identified(entry_id),
    )
    recommend(bearing.machine, visit=visit, made_by=made_by, made_at=inspection.made_at)
    return inspection


def _check_found(bearing, found):
    if not any(value not in (None, "", []) for value in found.values()):
        raise Refused("Nothing was noted; say at least how it feels or what was measured.")
    peaks = found.get("peaks_hz") or []
    if any(Decimal(str(peak)) <= 0 for peak in peaks):
        raise Refused("A measured peak must be more than zero Hz.")
    if len(peaks) > LONGEST_PEAK_LIST:
        raise Refused(f"At most {LONGEST_PEAK_LIST} peaks are taken; give the highest.")
    speed = found.get("speed_rpm")
    if speed is not None and speed <= 0:
        raise Refused("The speed must be more than zero rpm.")


def _kept(limits):
    return {
        "a_mm_s": limits.a_mm_s,
        "b_mm_s": limits.b_mm_s,
        "c_mm_s": limits.c_mm_s,
        "source": limits.source,
    }


@transaction.atomic
def pin_photo(inspection, *, tooth, photo):
    """Pin a photo, as `machines.register.photos.clean_photo` made it, to a tooth of an inspected
    belt."""
    if inspection.visit is not None:
        for_work(inspection.visit)
    if not 1 <= tooth <= inspection.belt.teeth:
        raise Refused(f"The belt has teeth 1 to {inspection.belt.teeth}; there is no {tooth}.")
    pinned = ToothPhoto(inspection=inspection, tooth=tooth)
    pinned.image.save("tooth.jpg", photo, save=True)
    return pinned


@entered_once(Recommendation)
def advise_by_hand(*, machine, made_by, visit=None, entry_id=None, made_at=None, **advice):
    """Recommend something a person thinks of; advice: the recommendation's other fields."""
    visit = _worked_at(visit, machine)
    place = advice.get("belt") or advice.get("bearing")
    if place is not None and place.machine_id != machine.pk:
        raise Refused("That is another machine's.")
    advice["subject"] = str(place) if place else advice["what"][:120]
    return Recommendation.objects.create(
        machine=machine,
        visit=visit,
        made_by=made_by,
        made_at=made_at or timezone.now(),
        **advice,
        **identified(entry_id),
    )
