"""What becomes of an incident after it was logged: looked at, then closed with what was found."""

from django.db import transaction
from django.utils import timezone

from machines.register.models import VisitedMachine
from shop.visits.models import Visit
from shop.visits.services import for_work
from shop.visits.withdrawing import Effects
from shop.web.entries import entered_once, identified
from shop.web.errors import Refused

from .models import CheckLine, Incident, IncidentStep

State = Incident.State


@entered_once(IncidentStep)
def look_at_incident(incident, *, made_by, found="", entry_id=None, made_at=None):
    """Write down that somebody looked at a logged incident."""
    locked = Incident.objects.select_for_update().get(pk=incident.pk)
    if locked.state != State.LOGGED:
        raise Refused(f"This incident is {locked.get_state_display()} already.")
    return _step(locked, State.LOOKED_AT, made_by, found, entry_id, made_at)


@entered_once(IncidentStep)
def close_incident(incident, *, made_by, found, entry_id=None, made_at=None):
    """Close an incident with what was found; one nobody looked at yet is looked at by that."""
    locked = Incident.objects.select_for_update().get(pk=incident.pk)
    if locked.state == State.CLOSED:
        raise Refused("This incident is closed already.")
    if not found.strip():
        raise Refused("Say what was found: an incident is not closed without it.")
    return _step(locked, State.CLOSED, made_by, found, entry_id, made_at)


def _step(incident, state, made_by, found, entry_id=None, made_at=None):
    incident.state = state
    incident.save(update_fields=["state"])
    return IncidentStep.objects.create(
        incident=incident,
        state=state,
        found=found.strip(),
        made_by=made_by,
        made_at=made_at or timezone.now(),
        **identified(entry_id),
    )


def count_as_looked_at(incidents, *, by, found="", at=None):
    """Take the logged ones of `incidents` as looked at."""
    for incident in incidents:
        if incident.state == State.LOGGED:
            _step(incident, State.LOOKED_AT, by, found, made_at=at)


def close_what_is_done(machine, *, by, at=None):
    """Close what a signed visit settled: nothing to come back for, and what was found written."""
    done = VisitedMachine.objects.filter(
        machine=machine,
        incident__state=State.LOOKED_AT,
        visit__state=Visit.State.SIGNED,
        visit__come_back_for="",
    ).exclude(findings="")
    closed = set()
    for visited in done.select_related("incident"):
        if visited.incident_id not in closed:
            closed.add(visited.incident_id)
            _step(visited.incident, State.CLOSED, by, visited.findings, made_at=at)


def write_check_list(visited, triage):
    """Give a machine visited the check list of its incident: the stations in order, then the
    parts."""
    lines = [(CheckLine.What.STATION, one) for one in triage.order]
    lines += [(CheckLine.What.PART, one) for one in triage.parts]
    CheckLine.objects.bulk_create(
        CheckLine(
            visited=visited,
            position=position,
            what=what,
            subject=one.subject[:120],
            reason=one.reason[:300],
        )
        for position, (what, one) in enumerate(lines, start=1)
    )


class _OfALine(Effects):
    """The line stays on its list; only that it was looked at is withdrawn."""

    def withdrawn(self, record, by):
        if record.done_at is None:
            raise Refused("Nobody ticked this line yet.")


OF_A_LINE = _OfALine()


@transaction.atomic
def tick_line(line, *, by, found="", at=None):
    """Write down that a line of the check list was looked at, and what was found."""
    for_work(line.visited.visit)
    line.found = found.strip()
    line.done_by, line.done_at = by, at or timezone.now()
    line.withdrawn_at, line.withdrawn_by, line.withdrawn_why = None, None, ""
    line.save()
    return line
