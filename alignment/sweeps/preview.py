"""A sweep that is being typed, worked out as far as it goes; nothing is saved."""

from dataclasses import dataclass

from django.urls import reverse
from django.utils import timezone

from alignment.sheets import formatting

from . import result_text
from .answers import answered
from .comparison import LAST_LEFT, beside, last_left
from .doubts import doubt_of
from .glance import glance, shown_by, strip
from .measuring import Measured, work_out
from .models import Check
from .pictures import check_figure, checked_place, place_of


@dataclass(frozen=True)
class Trial:
    """What can be said of an entry: what came out, what is missing, or why nothing comes out."""

    measured: Measured | None = None
    missing: tuple[str, ...] = ()
    problem: str = ""


def tried(entry, item):
    """Work an entry out if it is whole and right."""
    if not entry.is_right_so_far:
        return Trial(missing=tuple(entry.missing), problem="Something typed here cannot be read.")
    if entry.missing:
        return Trial(missing=tuple(entry.missing))
    try:
        return Trial(measured=work_out(item, *entry.sweeps()))
    except ValueError as error:
        return Trial(problem=str(error))


def found_at(visit, item):
    """The check of an item as found at a visit, None where there is none."""
    return (
        visit.checks.counting_for(visit)
        .filter(item=item, phase=Check.Phase.AS_FOUND)
        .select_related("item__station__machine")
        .prefetch_related("sweeps__readings")
        .last()
    )


def trial_figure(visit, item, place, phase, unit):
    """The picture of what is being typed, beside what was found where it is as left."""
    if phase == Check.Phase.AS_FOUND:
        return check_figure(item, unit, as_found=place)
    found = checked_place(found_at(visit, item))
    return check_figure(item, unit, as_found=found, as_left=place)


def shown_trial(visit, item, entry):
    """What the page shows of an entry, as the context of `alignment/result.html`."""
    trial = tried(entry, item)
    context = {"trial": trial, "item": item, "limits": formatting.limits(item, entry.unit)}
    context["beside"] = rows = beside(item, visit, entry.unit)
    context["last"] = _last(rows)
    context["strip"] = strip(item, trial.measured, entry.unit, context["last"])
    context["doubt"] = doubt_of(visit, item, entry) if entry.is_right_so_far else None
    return context | (_shown_result(visit, item, entry, trial) if trial.measured else {})


def _last(rows):
    """The check an item was last left with, of the figures that stand beside it."""
    return next((check for words, _, check in rows if words == LAST_LEFT), None)


def _shown_result(visit, item, entry, trial):
    measured, unit = trial.measured, entry.unit
    phase = entry.form.cleaned_data["phase"]
    expected = last_left(item, visit) if phase == Check.Phase.AS_FOUND else None
    sweeps = entry.sweeps()
    return {
        "glance": glance(item, measured, unit),
        "answers": answered(visit, item, phase, sweeps),
        "figures": result_text.figures(item, measured, unit),
        "probability": result_text.probability(measured),
        "budget": result_text.budget_rows(measured, unit),
        "budget_sum": result_text.budget_sum(measured, unit),
        "hints": result_text.hints(
            item,
            measured,
            sweeps,
            unit,
            expected_um=expected and (expected.right_um, expected.up_um),
            day=timezone.now().astimezone(visit.shop.zone).date(),
        ),
        "move": formatting.move(item, measured, shown_by(item, measured, unit)),
    } | _picture(visit, item, measured, phase, unit)


def _picture(visit, item, measured, phase, unit):
    place = place_of(item, measured)
    if place is None:
        return {}
    address = reverse("alignment:try_picture", args=[visit.pk, item.pk])
    return {
        "picture": f"{address}?{formatting.picture_query(place, phase, unit)}",
        "alt": trial_figure(visit, item, place, phase, unit).describe(),
    }
