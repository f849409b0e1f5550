"""What happened to a machine between two of its visits.

A section of the page is a function of a `Between` that returns a Panel or None; they are listed in
`CHANGE_SECTIONS`.
"""

from dataclasses import dataclass
from datetime import datetime

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Prefetch
from django.utils import timezone
from django.utils.text import capfirst

from machines.drive.history import fitted_words
from machines.drive.lives import hours_between
from machines.drive.models import Fitting, RecommendationStep
from machines.engineering.meters import moment_utc
from machines.register.meters import meter_totals
from machines.register.models import Machine
from shop.hooks import Event, Panel, history
from shop.visits.models import Visit
from shop.web.wording import day_text

SETTLED = RecommendationStep.SETTLED


@dataclass(frozen=True)
class Between:
    """From when the earlier visit was over until the later one was; `unit`: the reader's."""

    machine: Machine
    earlier: Visit
    later: Visit
    unit: str

    @property
    def start(self) -> datetime:
        visit = self.earlier
        return visit.left_at or visit.signed_at or visit.arrived_at

    @property
    def end(self) -> datetime:
        return self.later.signed_at or self.later.left_at or timezone.now()

    def events(self, kind):
        """The events of one kind in that time, newest first."""
        found = history(self.machine, limit=None, before=self.end, since=self.start, kind=kind)
        return [event for event in found if event.when > self.start]


def visits_of(machine):
    """The visits at which a machine was worked on, newest first.

    A correction is none of its own: what it says counts for the visit it corrects.
    """
    return (
        Visit.objects.filter(visited__machine=machine, arrived_at__isnull=False, corrects=None)
        .select_related("shop")
        .order_by("-arrived_at", "-pk")
    )


class BetweenForm(forms.Form):
    """Which two visits to hold against each other."""

    since = forms.ModelChoiceField(Visit.objects.none(), label="From visit", empty_label=None)
    until = forms.ModelChoiceField(Visit.objects.none(), label="To visit", empty_label=None)

    def __init__(self, *args, machine, **kwargs):
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            field.queryset = visits_of(machine)
            field.label_from_instance = _visit_words

    def clean(self):
        given = super().clean()
        since, until = given.get("since"), given.get("until")
        if since and until and until.arrived_at <= since.arrived_at:
            raise ValidationError(
                {"until": f"Expected a visit after {since.number}, of {day_text(since.day)}."}
            )
        return given


def _visit_words(visit):
    return f"{visit.number}, {day_text(visit.day)}: {visit.purpose}"


def incidents(between):
    """What was logged."""
    return _told("Incidents", between.events("incidents"), "No incident was logged.", between)


def inspections(between):
    """The belts and bearings looked at."""
    events = between.events("inspections")
    return _told("Inspections", events, "No belt or bearing was looked at.", between)


def adjustments(between):
    """The stations moved."""
    events = between.events("adjustments")
    return _told("Stations adjusted", events, "No station was adjusted.", between)


def _told(title, events, none, between):
    context = {"title": title, "events": events, "none": none, "shop": between.machine.shop}
    return Panel("machines/panels/changes.html", context)


def parts_fitted(between):
    """Belts and bearings fitted, and what else was fitted of what had been recommended."""
    start, end = between.start, between.end
    fitted = (
        Fitting.objects.of_machine(between.machine)
        .filter(from_the_start=False, fitted_at__gt=start, fitted_at__lte=end)
        .select_related("belt", "bearing", "part", "made_by")
    )
    other = RecommendationStep.objects.filter(
        recommendation__machine=between.machine,
        state=RecommendationStep.State.FITTED,
        fitting=None,
        made_at__gt=start,
        made_at__lte=end,
    ).select_related("recommendation", "made_by")
    events = [
        Event(
            when=one.fitted_at,
            kind="fitted",
            title=capfirst(f"{one.place} fitted"),
            text=fitted_words(one),
            url=one.get_absolute_url(),
            who=one.made_by.name,
        )
        for one in fitted
    ] + [
        Event(
            when=step.made_at,
            kind="fitted",
            title=f"{step.recommendation.what}: fitted",
            text=step.note,
            url=step.recommendation.get_absolute_url(),
            who=step.made_by.name,
        )
        for step in other
    ]
    newest_first = sorted(events, key=lambda event: event.when, reverse=True)
    return _told("Parts fitted", newest_first, "Nothing was fitted.", between)


def advice(between):
    """Advice that stood open at the end and not at the start, and what was settled; two queries.

    Advice renewed at a visit stayed open: it is known by what it is about, not by its record.
    """
    steps = RecommendationStep.objects.filter(state__in=SETTLED).with_told()
    given = between.machine.recommendations.filter(made_at__lte=between.end).order_by(
        "made_at", "pk"
    )
    newest, at_start, at_end = {}, set(), set()
    for one in given.prefetch_related(Prefetch("steps", steps, to_attr="settling")):
        key = one.subject, one.what
        newest[key] = one
        if _open_at(one, between.start):
            at_start.add(key)
        if _open_at(one, between.end):
            at_end.add(key)
    opened = [one for key, one in newest.items() if key in at_end - at_start]
    closed = [
        (one, one.settling[-1])
        for key, one in newest.items()
        if key not in at_end and one.settling[-1].made_at > between.start
    ]
    context = {"opened": opened, "closed": closed, "shop": between.machine.shop}
    return Panel("machines/panels/changes_advice.html", context)


def _open_at(one, moment):
    return one.made_at <= moment and all(step.made_at > moment for step in one.settling)


def meter_hours(between):
    """Spindle hours from visit to visit; one query."""
    start, end = between.earlier.arrived_at, between.later.arrived_at
    totals = meter_totals(between.machine)
    last_read = moment_utc(totals.days[-1]) if len(totals) else None
    context = {
        "machine": between.machine,
        "shop": between.machine.shop,
        "days": (between.later.day - between.earlier.day).days,
        "hours": hours_between(totals, start, end),
        "last_read": last_read,
        "falls_short": last_read is not None and last_read < end,
    }
    return Panel("machines/panels/changes_meter.html", context)


SECTIONS = [adjustments, incidents, inspections, parts_fitted, advice]
