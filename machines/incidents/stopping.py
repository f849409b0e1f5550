"""A machine is stopped until looked at, and let run again by somebody with a reason."""

from django.db import transaction
from django.utils import timezone

from machines.register.models import Standstill
from shop.web.errors import Refused

from .follow_up import close_what_is_done, count_as_looked_at
from .models import Incident
from .notices import tell_it_stopped


@transaction.atomic
def stop_machine(machine, *, incident=None, by=None, at=None):
    """Stop a machine until somebody with the right says it may run; stopped stays stopped.

    The shop's owners are mailed when it stops.
    """
    stop, is_new = Standstill.objects.get_or_create(
        machine=machine,
        ended_at=None,
        defaults={"incident": incident, "began_at": at or timezone.now()},
    )
    if is_new:
        tell_it_stopped(stop, by=by)
    return stop


@transaction.atomic
def release_machine(machine, *, by, reason, at=None):
    """Let a stopped machine run again, with the reason.

    Its logged incidents count as looked at; those a signed visit settled are closed.
    """
    stop = machine.standstills.select_for_update().filter(ended_at__isnull=True).first()
    if stop is None:
        raise Refused("This machine is not stopped.")
    if not reason.strip():
        raise Refused("Say why the machine may run again.")
    # A clock that was set back must not keep a machine from running.
    stop.ended_at = max(at or timezone.now(), stop.began_at)
    stop.ended_by = by
    stop.reason = reason.strip()
    stop.save()
    logged = machine.incidents.filter(state=Incident.State.LOGGED)
    count_as_looked_at(logged, by=by, at=stop.ended_at)
    close_what_is_done(machine, by=by, at=stop.ended_at)
    return stop
