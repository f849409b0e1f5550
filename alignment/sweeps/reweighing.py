"""Checks that are not signed yet, weighed anew once it was found how their indicator looked, and
the moves that were planned from them."""

from django.utils import timezone

from alignment.geometry.measure.quantity import SIGNED

from .measuring import worked_out
from .models import Adjustment, Check


def open_checks(**where):
    """Checks of visits that are not signed, each with its limits as they were told of the station
    until now: [(check, (lower, upper), the factory's own figure)].

    where: what finds them, such as item__station; call it before the setting is changed.
    """
    found = (
        Check.objects.filter(visit__signed_at__isnull=True, **where)
        .select_related("item__station__machine")
        .select_for_update(of=("self",))
    )
    return [(check, check.limits_um, check.own_um) for check in found]


def weigh_anew(found):
    """Work the checks of `open_checks` out from their readings by the setting as it is now; the
    limits they are held to stay where they were. Call it in the transaction of the change.

    Where a move planned from one of them went nobody can tell: it was made by what a page said
    then, or by what the dial showed. So it is marked as to be redone.
    """
    pks = [check.pk for check, _limits, _own in found]
    moves = Adjustment.objects.filter(planned_from__in=pks, visit__signed_at__isnull=True)
    moves.update(overtaken_at=timezone.now())
    fresh = Check.objects.select_related("item__station__machine").in_bulk(pks)
    for was, (lower_um, upper_um), own_um in found:
        check = fresh[was.pk]
        if check.item.quantity in SIGNED:
            check.view = Check.View.FRAME
        check.lower_um, check.upper_um, check.factory_um = lower_um, upper_um, own_um
        measured = worked_out(check)
        check.right_um, check.up_um = measured.outcome.right_um, measured.outcome.up_um
        check.value_um, check.guard_um = measured.value_um, measured.judgement.guard_um
        check.verdict = measured.verdict
        check.save(
            update_fields=[
                *("view", "lower_um", "upper_um", "factory_um", "right_um", "up_um"),
                *("value_um", "guard_um", "verdict"),
            ]
        )
