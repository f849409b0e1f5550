"""Withdrawing what was entered at a visit by mistake, until the visit is signed."""

from django.db import transaction
from django.utils import timezone
from django.utils.module_loading import import_string

from shop.record import our_models
from shop.web.errors import Refused

from .models import Withdrawable
from .services import for_work

FIELDS = ["withdrawn_at", "withdrawn_by", "withdrawn_why"]


class Effects:
    """What follows when a record of one table is withdrawn, restored or moved. Each table's own
    are named by its `on_withdrawing`."""

    def withdrawn(self, record, by):
        """Undo what entering it did; raises Refused where that cannot be."""

    def refuse_restoring(self, record):
        """Raise Refused where something newer stands in its place."""

    def restored(self, record, by):
        """Do again what entering it did."""

    def targets(self, record):
        """The records that it may belong to instead, as a queryset; None where it is not moved."""

    def moved(self, record, target, by):
        """Enter it anew at another record, with its time, and return the new one; the old one is
        withdrawn already."""


NONE = Effects()


def effects_of(record):
    """The `Effects` of a record's table."""
    return import_string(record.on_withdrawing)


@transaction.atomic
def withdraw(record, *, by, why):
    """Withdraw a record of an unsigned visit; withdrawn already, it stays with who did it first.

    Raises Refused without a reason, at a signed visit and for what was entered without a visit.
    """
    locked = _locked(record)
    if locked.is_withdrawn:
        return locked
    if not why.strip():
        raise Refused("Say why it is withdrawn; the reason stays on record.")
    locked.withdrawn_at, locked.withdrawn_by = timezone.now(), by
    locked.withdrawn_why = why.strip()[:200]
    _let_go(locked)
    locked.save()
    effects_of(locked).withdrawn(locked, by)
    return locked


@transaction.atomic
def restore(record, *, by):
    """Take a record in again that was withdrawn; raises Refused as `withdraw`, and where something
    newer stands in its place."""
    locked = _locked(record)
    if not locked.is_withdrawn:
        return locked
    effects_of(locked).refuse_restoring(locked)
    locked.withdrawn_at = locked.withdrawn_by = None
    locked.withdrawn_why = ""
    _take_hold(locked)
    locked.save()
    effects_of(locked).restored(locked, by)
    return locked


@transaction.atomic
def move(record, target_pk, *, by, why=""):
    """Withdraw a record and enter it anew where it belongs, with the time it was entered at.

    Raises Refused where it cannot belong there.
    """
    targets = effects_of(record).targets(record)
    target = targets.filter(pk=target_pk).first() if targets is not None else None
    if target is None:
        raise Refused("It cannot be moved there.")
    withdrawn = withdraw(record, by=by, why=f"belongs to the {target}. {why}".strip())
    return effects_of(record).moved(withdrawn, target, by)


def withdrawn_at_visit(visit):
    """Every record that was withdrawn at a visit, the last first; one query for each table."""
    found = [one for model in withdrawable_models() for one in _of(model, visit)]
    return sorted(found, key=lambda one: one.withdrawn_at, reverse=True)


def withdrawable_models():
    return [model for model in our_models() if issubclass(model, Withdrawable)]


def record_at(visit, key):
    """The record of a visit that an address names; None where there is none."""
    name, _, number = key.rpartition("-")
    model = next((one for one in withdrawable_models() if one._meta.model_name == name), None)
    if model is None or not number.isdecimal() or len(number) > 18:
        return None
    return model._base_manager.filter(pk=number, **{model.visit_path: visit}).first()


def _of(model, visit):
    withdrawn = model._base_manager.filter(withdrawn_at__isnull=False)
    return withdrawn.filter(**{model.visit_path: visit}).select_related("withdrawn_by")


def _locked(record):
    if record.visit is None:
        raise Refused("It was entered without a visit; correct it instead.")
    for_work(record.visit)
    return type(record)._base_manager.select_for_update(of=("self",)).get(pk=record.pk)


def _let_go(record):
    if getattr(record, "corrects_id", None):
        record.withdrawn_corrects, record.corrects = record.corrects, None


def _take_hold(record):
    """Correct again what it corrected; refused where another correction came meanwhile."""
    if not getattr(record, "withdrawn_corrects_id", None):
        return
    taken = type(record).objects.filter(corrects=record.withdrawn_corrects_id).exists()
    if taken:
        raise Refused("What it corrected was corrected anew since; withdraw that first.")
    record.corrects, record.withdrawn_corrects = record.withdrawn_corrects, None
