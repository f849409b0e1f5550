"""What the machines app knows of a machine's life: each source is `(machine) -> list[Past]`."""

from functools import partial

from django.utils.text import capfirst

from machines.incidents.history import incident_steps, incidents, standstills
from machines.register.history import service_breaks, visits
from shop.hooks import Event, HistorySource
from shop.web.wording import day_text

from .bearing_looks import sentence_of
from .models import BearingInspection, BeltInspection, Fitting, Rebuild, RecommendationStep
from .tooth_lists import summary_sentence


def belt_inspections(machine):
    """Looks at the machine's belts, what a later look corrected included; with their findings."""
    inspections = (
        BeltInspection.objects.filter(belt__machine=machine)
        .select_related("belt", "made_by", "corrected_by", "tension")
        .prefetch_related("findings")
    )
    return [HistorySource(inspections, "made_at", _belt_inspection)]


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
    return [HistorySource(made, "made_at", _advice), HistorySource(steps, "made_at", _advice_step)]


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
    return [HistorySource(inspections, "made_at", partial(_bearing_inspection, shop=machine.shop))]


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
    return [HistorySource(noted, "made_at", _rebuild)]


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
    return [HistorySource(fitted, "fitted_at", _fitting)]


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
