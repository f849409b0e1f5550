"""Incidents and standstills in a machine's history."""

from django.utils.text import capfirst

from shop.hooks import Event, HistorySource
from shop.web.wording import span_text

from .models import IncidentStep


def incidents(machine):
    """What happened at the machine, when it happened."""
    return [HistorySource(machine.incidents.select_related("made_by"), "happened_at", _incident)]


def _incident(incident):
    return Event(
        when=incident.happened_at,
        kind="incident",
        title=capfirst(incident),
        text=_how_it_was(incident),
        url=incident.get_absolute_url(),
        who=incident.made_by.name,
    )


def _how_it_was(incident):
    how_hard = capfirst(incident.get_severity_display())
    may_run = "The machine was left running." if incident.may_run else "Stopped until looked at."
    return f"{how_hard}. {may_run}" if how_hard else may_run


def incident_steps(machine):
    """Who looked at an incident, who closed it, and what was found."""
    steps = IncidentStep.objects.filter(incident__machine=machine)
    return [HistorySource(steps.select_related("incident", "made_by"), "made_at", _incident_step)]


def _incident_step(step):
    return Event(
        when=step.made_at,
        kind=f"incident {step.state}",
        title=f"{capfirst(step.incident)}: {step.get_state_display()}",
        text=step.found,
        url=step.incident.get_absolute_url(),
        who=step.made_by.name,
    )


def standstills(machine):
    """When the machine was stopped without an incident, and when it might run again.

    A stop that an incident brought is told by the incident itself.
    """
    began = machine.standstills.filter(incident__isnull=True)
    ended = machine.standstills.filter(ended_at__isnull=False).select_related("ended_by")
    return [
        HistorySource(began, "began_at", _stopped),
        HistorySource(ended, "ended_at", _ran_again),
    ]


def _stopped(stop):
    return Event(when=stop.began_at, kind="stopped", title="Stopped until looked at")


def _ran_again(stop):
    return Event(
        when=stop.ended_at,
        kind="may run",
        title="May run again",
        text=f"{stop.reason}{'.' if stop.reason[-1:].isalnum() else ''} "
        f"Stopped for {span_text(stop.ended_at - stop.began_at)}.".lstrip(),
        who=stop.ended_by.name if stop.ended_by else "",
    )
