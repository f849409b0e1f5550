"""What the machines app knows of a machine's life: each source is `(machine) -> list[Past]`."""

from functools import partial

from django.db.models.functions import Coalesce
from django.utils.text import capfirst

from shop.composing import Event, Past
from shop.wording import day_text, span_text

from .drive.bearing_looks import sentence_of
from .models import (
    BearingInspection,
    BeltInspection,
    Fitting,
    IncidentStep,
    Rebuild,
    RecommendationStep,
)
from .toothlist import summary_sentence


def incidents(machine):
    """What happened at the machine, when it happened."""
    return [Past(machine.incidents.select_related("made_by"), "happened_at", _incident)]


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
    return [Past(steps.select_related("incident", "made_by"), "made_at", _incident_step)]


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
    return [Past(began, "began_at", _stopped), Past(ended, "ended_at", _ran_again)]


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


def service_breaks(machine):
    """When the machine was taken out of service and put back, as entered."""
    ended = machine.breaks.filter(back_on__isnull=False).select_related("back_by")
    return [
        Past(machine.breaks.select_related("made_by"), "made_at", _taken_out),
        Past(ended, "back_at", _put_back),
    ]


def _taken_out(one):
    return Event(
        when=one.made_at,
        kind="out of service",
        title=f"Taken out of service on {day_text(one.out_on)}",
        text=one.reason,
        who=one.made_by.name,
    )


def _put_back(one):
    return Event(
        when=one.back_at,
        kind="in service",
        title=f"Put back in service on {day_text(one.back_on)}",
        text=one.back_reason,
        who=one.back_by.name,
    )


def visits(machine):
    """Visits at which the machine was worked on, by arrival, or by entry while planned."""
    visited = machine.visited.select_related("visit__contractor", "visit__firm")
    began = Coalesce("visit__arrived_at", "visit__made_at")
    return [Past(visited, began, partial(_visit, shop=machine.shop))]


def _visit(here, shop):
    return Event(
        when=here.told_at,
        kind="visit",
        title=f"{here.visit}, {_state(here.visit, shop)}",
        text=here.visit.purpose,
        url=here.visit.get_absolute_url(),
        who=f"{here.visit.contractor.name}, {here.visit.firm}",
    )


def _state(visit, shop):
    if visit.is_signed:
        return f"signed on {day_text(visit.signed_at.astimezone(shop.zone))}"
    return visit.get_state_display()


def belt_inspections(machine):
    """Looks at the machine's belts, what a later look corrected included; with their findings."""
    inspections = (
        BeltInspection.objects.filter(belt__machine=machine)
        .select_related("belt", "made_by", "corrected_by", "tension")
        .prefetch_related("findings")
    )
    return [Past(inspections, "made_at", _belt_inspection)]


def _belt_inspection(inspection):
    return Event(
        when=inspection.made_at,
        kind="belt inspection",
        title=capfirst(f"{inspection.belt} inspected"),
        text=summary_sentence(inspection.belt.teeth, inspection.conditions())
        + (f" Tension {inspection.tension}" if hasattr(inspection, "tension") else "")
        + (" Corrected later." if hasattr(inspection, "corrected_by") else ""),
        url=inspection.get_absolute_url(),
        who=inspection.made_by.name,
    )


def recommendations(machine):
    """What was recommended, and what became of it.

    A recommendation that was only renewed is told by the new one.
    """
    made = machine.recommendations.select_related("made_by")
    steps = (
        RecommendationStep.objects.filter(recommendation__machine=machine)
        .exclude(state=RecommendationStep.State.WITHDRAWN)
        .select_related(
            "recommendation", "made_by", "fitting__part", "fitting__belt", "fitting__bearing"
        )
        .with_told()
    )
    return [Past(made, "made_at", _advice), Past(steps, "made_at", _advice_step)]


def _advice(advice):
    return Event(
        when=advice.made_at,
        kind="recommended",
        title=f"{advice.what}: {advice.urgency_words}",
        text=advice.reason,
        url=advice.get_absolute_url(),
        who=advice.made_by.name,
    )


def _advice_step(step):
    return Event(
        when=step.made_at,
        kind=f"replacement {step.state}",
        title=f"{step.recommendation.what}: {step.get_state_display()}",
        text=_told(step),
        url=step.recommendation.get_absolute_url(),
        who=step.made_by.name,
    )


def _told(step):
    """What a step says: what was fitted, at what price it was approved, and the note."""
    said = [
        fitted_words(step.fitting) if step.fitting else "",
        f"At {step.unit_price} each."
        if step.state == RecommendationStep.State.APPROVED and step.unit_price is not None
        else "",
        step.note,
        f"{capfirst(step.told.in_words)}." if step.told else "",
    ]
    return " ".join(words for words in said if words)


def fitted_words(fitting):
    """What was fitted, with its serial or lot number."""
    serial = f", serial or lot {fitting.serial}" if fitting.serial else ""
    return f"{fitting.part or capfirst(fitting.place)}{serial}."


def bearing_inspections(machine):
    """Looks at the machine's bearings."""
    inspections = BearingInspection.objects.filter(bearing__machine=machine).select_related(
        "bearing", "made_by", "corrected_by"
    )
    return [Past(inspections, "made_at", partial(_bearing_inspection, shop=machine.shop))]


def _bearing_inspection(inspection, shop):
    return Event(
        when=inspection.made_at,
        kind="bearing inspection",
        title=capfirst(f"{inspection.bearing} inspected"),
        text=sentence_of(inspection, shop.length_unit)
        + (" Corrected later." if hasattr(inspection, "corrected_by") else ""),
        url=inspection.get_absolute_url(),
        who=inspection.made_by.name,
    )


def rebuilds(machine):
    """When the housing or the jack shaft was taken apart."""
    noted = Rebuild.objects.filter(assembly__machine=machine).select_related("assembly")
    return [Past(noted, "made_at", _rebuild)]


def _rebuild(rebuild):
    return Event(
        when=rebuild.made_at,
        kind="rebuild",
        title=capfirst(f"{rebuild.assembly} rebuilt on {day_text(rebuild.rebuilt_on)}"),
        text=f"Fitted: {rebuild.fitted}. Felt before: {rebuild.feel_before}; after: "
        f"{rebuild.feel_after}.",
        url=rebuild.assembly.get_absolute_url(),
        who=rebuild.who,
    )


def fittings(machine):
    """Belts and bearings that were fitted without having been recommended, and what came out.

    One that was there before the record began is not an event of it.
    """
    fitted = (
        Fitting.objects.of_machine(machine)
        .filter(step__isnull=True, from_the_start=False)
        .select_related("belt", "bearing", "part", "made_by")
    )
    return [Past(fitted, "fitted_at", _fitting)]


def _fitting(fitting):
    return Event(
        when=fitting.fitted_at,
        kind="fitted",
        title=capfirst(f"{fitting.place} fitted"),
        text=fitted_words(fitting),
        url=fitting.place.get_absolute_url(),
        who=fitting.made_by.name,
    )


# Each with the kind it is shown and filtered under.
EVENTS = [
    ("incidents", incidents),
    ("incidents", incident_steps),
    ("standstills", standstills),
    ("out of service", service_breaks),
    ("visits", visits),
]
DRIVE_TRAIN = [
    ("replacements", recommendations),
    ("inspections", belt_inspections),
    ("inspections", bearing_inspections),
    ("replacements", rebuilds),
    ("replacements", fittings),
]
