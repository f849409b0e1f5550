"""What follows when a look or a fitting is withdrawn, restored or moved to another place."""

from django.utils import timezone

from shop.visits.withdrawing import Effects
from shop.web.errors import Refused

from .inspecting import inspect_belt
from .models import Bearing, Belt, Fitting, Part, Removal
from .recommending import recommend
from .services import inspect_bearing, settle_the_rest

BEARING_FACTS = (
    "feel",
    "noise",
    "temperature_rise_k",
    "runout_um",
    "runout_typed",
    "velocity_mm_s",
    "speed_rpm",
    "peaks_hz",
    "note",
)


def _advise(place, record, by):
    """Let the rules say what follows from the looks and fittings that stand."""
    recommend(place.machine, visit=record.visit, made_by=by)


class _OfABelt(Effects):
    """A look at a belt: what was advised because of it follows."""

    def withdrawn(self, record, by):
        _advise(record.belt, record, by)

    restored = withdrawn

    def targets(self, record):
        return Belt.objects.filter(machine=record.belt.machine).exclude(pk=record.belt_id)

    def moved(self, record, target, by):
        return inspect_belt(
            belt=target,
            made_by=record.made_by,
            teeth=record.conditions(),
            visit=record.visit,
            note=record.note,
            made_at=record.made_at,
        )


class _OfABearing(Effects):
    """A look at a bearing, likewise."""

    def withdrawn(self, record, by):
        _advise(record.bearing, record, by)

    restored = withdrawn

    def targets(self, record):
        return Bearing.objects.filter(machine=record.bearing.machine).exclude(pk=record.bearing_id)

    def moved(self, record, target, by):
        return inspect_bearing(
            bearing=target,
            made_by=record.made_by,
            visit=record.visit,
            made_at=record.made_at,
            **{name: getattr(record, name) for name in BEARING_FACTS},
        )


class _OfAFitting(Effects):
    """A fitting: what came out is in its place again, and the stock has the part back."""

    def withdrawn(self, record, by):
        place, old = record.place, _came_out_for(record)
        self.refuse_restoring(record)
        if old is not None:
            record.withdrawn_old_why = old.removal.why
            old.removal.delete()
        record.save(update_fields=["withdrawn_old_why"])
        _put_back(record, +1)
        _is_in(place, old)
        _advise(place, record, by)

    def refuse_restoring(self, record):
        if record.place.fittings.filter(fitted_at__gt=record.fitted_at).exists():
            raise Refused("Something else was fitted there since; withdraw that first.")

    def restored(self, record, by):
        place = record.place
        old = place.fittings.in_place().exclude(pk=record.pk).first()
        if old is not None:
            Removal.objects.create(
                fitting=old,
                visit=record.visit,
                removed_at=record.fitted_at,
                why=record.withdrawn_old_why or Removal.Why.WORN,
                made_by=record.made_by,
            )
        _put_back(record, -1)
        _is_in(place, record)
        record.withdrawn_old_why = ""
        record.save(update_fields=["withdrawn_old_why"])
        settle_the_rest(place, visit=record.visit, made_by=by, at=timezone.now())


def _came_out_for(record):
    """The fitting that came out when this one was put in; None where nothing is known of it."""
    came_out = Removal.objects.filter(visit=record.visit, removed_at=record.fitted_at)
    name = record.place._meta.model_name
    found = came_out.filter(**{f"fitting__{name}": record.place}).select_related("fitting").first()
    return found and found.fitting


def _put_back(record, sign):
    """Give the stock back what the fitting took, or take it again."""
    if not record.taken_from or record.part_id is None:
        return
    part = Part.objects.select_for_update().get(pk=record.part_id)
    left = getattr(part, record.taken_from) + sign * record.quantity
    if left < 0:
        raise Refused(f"There are no more {part.number} on record where it was taken from.")
    setattr(part, record.taken_from, left)
    part.save(update_fields=[record.taken_from])


def _is_in(place, fitting: Fitting | None):
    """Let a place say what is in it."""
    place.part = fitting.part if fitting else place.part
    place.fitted_on = fitting and timezone.localdate(
        fitting.fitted_at, timezone=place.machine.shop.zone
    )
    place.save(update_fields=["part", "fitted_on"])


OF_A_BELT, OF_A_BEARING, OF_A_FITTING = _OfABelt(), _OfABearing(), _OfAFitting()
