"""Taking a machine out of service, and putting it back."""

from django.db import transaction
from django.utils import timezone

from shop.web.entries import entered_once, identified
from shop.web.errors import Refused
from shop.web.wording import day_text

from .models import Machine, ServiceBreak


@entered_once(ServiceBreak)
def take_out_of_service(machine, *, made_by, day, reason, entry_id=None):
    """From `day` on nothing falls due on the machine, until it is put back.

    Raises Refused for a machine that is out already, without a reason, for a day to come, and for
    one before it was last put back.
    """
    machine = _locked(machine)
    if machine.out_of_service_on is not None:
        raise Refused("This machine is out of service already.")
    _refuse_unsaid(reason, "Say why the machine is taken out of service.")
    _refuse_to_come(machine, day)
    last = machine.breaks.first()
    if last is not None and day < last.back_on:
        raise Refused(
            f"It was put back on {day_text(last.back_on)}; expected that day or a later one."
        )
    broken = ServiceBreak.objects.create(
        machine=machine,
        out_on=day,
        reason=reason.strip(),
        made_by=made_by,
        **identified(entry_id),
    )
    machine.out_of_service_on = day
    machine.save(update_fields=["out_of_service_on"])
    return broken


@transaction.atomic
def put_back_in_service(machine, *, by, day, reason):
    """From `day` on the machine's plans run again.

    Raises Refused for a machine in service, without a reason, for a day to come, and for one
    before it was taken out.
    """
    machine = _locked(machine)
    if machine.out_of_service_on is None:
        raise Refused("This machine is in service.")
    _refuse_unsaid(reason, "Say why the machine is put back in service.")
    _refuse_to_come(machine, day)
    if day < machine.out_of_service_on:
        raise Refused(
            f"It was taken out on {day_text(machine.out_of_service_on)}; expected that day or a "
            "later one."
        )
    broken = machine.breaks.filter(back_on=None).first() or _unexplained(machine, by)
    broken.back_on = day
    broken.back_reason = reason.strip()
    broken.back_by = by
    broken.back_at = timezone.now()
    broken.save()
    machine.out_of_service_on = None
    machine.save(update_fields=["out_of_service_on"])
    return broken


def _locked(machine):
    return Machine.objects.select_for_update().get(pk=machine.pk)


def _refuse_unsaid(reason, message):
    if not reason.strip():
        raise Refused(message)


def _refuse_to_come(machine, day):
    today = machine.shop.today
    if day > today:
        raise Refused(f"{day_text(day)} is to come; expected today or an earlier day.")


def _unexplained(machine, by):
    """The break of a machine that was taken out before reasons were kept."""
    return ServiceBreak(
        machine=machine, out_on=machine.out_of_service_on, reason="not on record", made_by=by
    )
