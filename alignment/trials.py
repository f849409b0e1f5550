"""A sweep that is being typed, worked out as far as it goes; nothing is saved."""

from dataclasses import dataclass

from django.urls import reverse

from . import shown
from .models import Check
from .pictures import checked_position, fitted_position, sweep_figure
from .services import Measured, work_out


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
        return Trial(measured=work_out(item, entry.sweep()))
    except ValueError as error:
        return Trial(problem=str(error))


def found_at(visit, item):
    """The check of an item as found at a visit, None where there is none."""
    return (
        visit.checks.standing(at=visit.signed_at)
        .filter(item=item, phase=Check.Phase.AS_FOUND)
        .prefetch_related("sweeps__readings")
        .last()
    )


def trial_figure(visit, item, position, phase, unit, axes):
    """The picture of a sweep being typed, beside what was found where it is as left."""
    if phase == Check.Phase.AS_FOUND:
        return sweep_figure(item, unit, as_found=position, axes=axes)
    found = checked_position(found_at(visit, item))
    return sweep_figure(item, unit, as_found=found, as_left=position, axes=axes)


def shown_trial(visit, item, entry, axes):
    """What the page shows of an entry, as the context of `alignment/result.html`."""
    trial = tried(entry, item)
    context = {"trial": trial, "item": item, "limits": shown.limits(item, entry.unit)}
    context["factory"] = shown.length(item.factory_um, entry.unit) if item.factory_um else ""
    return context | (_shown_result(visit, item, entry, axes, trial) if trial.measured else {})


def _shown_result(visit, item, entry, axes, trial):
    measured, unit = trial.measured, entry.unit
    fit = measured.fit
    phase = entry.form.cleaned_data["phase"]
    position = fitted_position(fit, measured.verdict)
    picture = reverse("alignment:try_picture", args=[visit.pk, item.pk])
    return {
        "figures": shown.figures(item, fit, measured.value_um, measured.u_um, unit, axes),
        "hints": shown.hints(item, fit, float(entry.sweep().reading_u_um)),
        "move": shown.move(item, fit, unit, axes),
        "picture": f"{picture}?{shown.picture_query(fit, measured.verdict, phase, unit)}",
        "alt": trial_figure(visit, item, position, phase, unit, axes).describe(),
    }
