"""What people type about plans, checked."""

from collections import defaultdict
from itertools import groupby

from django import forms
from django.conf import settings

from machines.engineering.due import Interval
from machines.register.models import Machine
from shop.calendar.forms import day_box
from shop.hooks import hooks
from shop.web.fields import ShopTimeField
from shop.web.forms import EntryForm

from .models import Plan
from .plans import subjects_of

UNITS = [("days", "days"), ("weeks", "weeks"), ("months", "months"), ("years", "years")]

# Starting points an owner changes to taste. Common practice, no source: the maker's manual says
# what a machine needs.
STARTS = {
    "alignment": {
        "what": "Check the alignment of the whole chain",
        "kind": Plan.Kind.ALIGNMENT,
        "every": 12,
        "unit": "months",
        "after_incident": True,
    },
    "belts": {
        "what": "Look at the belts, tooth by tooth",
        "kind": Plan.Kind.BELT,
        "every": 6,
        "unit": "months",
        "spindle_hours": 2000,
    },
    "bearings": {
        "what": "Listen to the spindle bearings and feel their warmth",
        "kind": Plan.Kind.BEARING,
        "every": 6,
        "unit": "months",
    },
    "lubrication": {
        "what": "Fill up way oil, look at the lubricator's filter",
        "kind": Plan.Kind.LUBRICATION,
        "every": 1,
        "unit": "weeks",
    },
}


class PlanForm(EntryForm):
    """What is done, and when it is due: by time, use, incidents or risk, whichever comes first."""

    what = forms.CharField(label="What is done", max_length=120)
    kind = forms.ChoiceField(
        label="What kind of work",
        choices=Plan.Kind,
        help_text="Checks, belts and bearings are closed by what is recorded at a visit; the "
        "others by whoever marks them as done.",
    )
    subjects = forms.MultipleChoiceField(
        label="Stations, belts or bearings",
        required=False,
        widget=forms.CheckboxSelectMultiple(attrs={"class": "row"}),
        help_text="It is done once all of these were. Tick none for the machine as a whole.",
    )
    steps = forms.CharField(
        label="Steps",
        required=False,
        max_length=5000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="One a line, in the order they go.",
    )
    every = forms.IntegerField(label="Every so many", required=False, min_value=1, max_value=600)
    unit = forms.ChoiceField(label="Of these", choices=UNITS, initial="months")
    spindle_hours = forms.IntegerField(
        label="Spindle hours between", required=False, min_value=1, max_value=1_000_000
    )
    parts = forms.IntegerField(
        label="Parts made between", required=False, min_value=1, max_value=2_000_000_000
    )
    after_incident = forms.BooleanField(label="After every incident, too", required=False)
    at_risk_percent = forms.IntegerField(
        label="When the risk of drift reaches, in %",
        required=False,
        min_value=1,
        max_value=99,
        help_text="By the forecast from the machine's own checks.",
    )
    counts_from = forms.ChoiceField(
        label="The next time counts from",
        choices=Plan.CountsFrom,
        help_text="From the day it was due keeps it in step with the calendar.",
    )
    starts_on = forms.DateField(
        label="The first time counts from",
        widget=day_box(),
        help_text="The day it was last done, or today.",
    )
    cost = forms.DecimalField(
        label="Expected cost each time",
        required=False,
        min_value=0,
        max_digits=10,
        decimal_places=2,
        help_text="For the year's plan; in the service firm's currency.",
    )

    def __init__(self, *args, machines, today, start=None, **kwargs):
        kwargs["initial"] = {"starts_on": today} | (start or {}) | (kwargs.get("initial") or {})
        super().__init__(*args, **kwargs)
        self.machines = machines
        self.known = subjects_of(machines)
        self.fields["subjects"].choices = [
            (Plan.Kind(kind).label.capitalize(), [(f"{kind}|{name}", name) for _, name in these])
            for kind, these in groupby(sorted(self.known), key=lambda pair: pair[0])
        ]
        if not self.known:
            del self.fields["subjects"]
        if not hooks(settings.PLANNING_SOURCES, about="risk dates"):
            del self.fields["at_risk_percent"]

    def clean(self):
        given = super().clean()
        if not self.errors:
            given["subjects"] = self._subjects(given)
            given["interval"] = self._interval(given)
        return given

    def _interval(self, given):
        """The fields of the plan that say how often."""
        fields = dict.fromkeys(("years", "months", "weeks", "days"), 0)
        fields[given["unit"]] = given["every"] or 0
        for name in ("spindle_hours", "parts", "after_incident", "at_risk_percent"):
            fields[name] = given.get(name)
        asked = dict(fields)
        asked["at_risk"] = asked.pop("at_risk_percent") is not None
        try:
            Interval(**asked)
        except ValueError as error:
            self.add_error("every", str(error))
        return fields

    def _subjects(self, given):
        """The names ticked, which must be of the plan's kind and stand on every machine."""
        ticked = [tuple(value.split("|", 1)) for value in given.get("subjects", [])]
        if strange := [name for kind, name in ticked if kind != given["kind"]]:
            self.add_error("subjects", f"{strange[0]} does not go with that kind of work.")
        for kind, name in ticked:
            lacking = self._planned_for(given) - self.known[kind, name]
            if lacking:
                number = Machine.objects.get(pk=min(lacking)).number
                self.add_error("subjects", f"Machine {number} has no {name}.")
        return [name for _kind, name in ticked]

    def _planned_for(self, given):
        return {machine.pk for machine in self.machines}

    def plan_fields(self):
        """What the form says, as the plan's fields."""
        given = self.cleaned_data
        names = ("what", "kind", "steps", "counts_from", "starts_on", "cost")
        return {name: given[name] for name in names} | given["interval"]


class NewPlanForm(PlanForm):
    """A plan for some of a shop's machines, each by itself, or for every machine of a model."""

    targets = forms.MultipleChoiceField(
        label="For", widget=forms.CheckboxSelectMultiple, error_messages={"required": "For which?"}
    )
    field_order = ("targets",)

    def __init__(self, *args, machines, **kwargs):
        super().__init__(*args, machines=machines, **kwargs)
        self.by_target = _targets(machines)
        self.fields["targets"].choices = [
            (key, label) for key, (label, _machines) in self.by_target.items()
        ]

    def _planned_for(self, given):
        return {m.pk for key in given["targets"] for m in self.by_target[key][1]}

    def clean_targets(self):
        """Not a model and one of its machines at once: that machine would have the plan twice."""
        keys = self.cleaned_data["targets"]
        seen = set()
        for key in keys:
            pks = {machine.pk for machine in self.by_target[key][1]}
            if pks & seen:
                raise forms.ValidationError(
                    "A machine and its model are both ticked; it would have the plan twice."
                )
            seen |= pks
        return keys

    def chosen(self):
        """(machine or None, model name) of each target ticked."""
        for key in self.cleaned_data["targets"]:
            kind, name = key.split("|", 1)
            if kind == "model":
                yield None, name
            else:
                yield self.by_target[key][1][0], ""


def _targets(machines):
    """Key to (label, machines): each machine, then each model that several share."""
    targets = {f"machine|{m.pk}": (f"Machine {m}", [m]) for m in machines}
    of_model = defaultdict(list)
    for machine in machines:
        if machine.model_name:
            of_model[machine.model_name].append(machine)
    for model, these in sorted(of_model.items()):
        if len(these) > 1:
            numbers = ", ".join(machine.number for machine in these)
            label = f"Every machine of the model {model} (now {numbers})"
            targets[f"model|{model}"] = (label, these)
    return targets


def start_of(plan):
    """What the form starts with when a plan is changed."""
    every, unit = _step(plan)
    return {
        "subjects": [f"{plan.kind}|{subject.name}" for subject in plan.subjects.all()],
        "every": every,
        "unit": unit,
    } | {
        name: getattr(plan, name)
        for name in (
            "what",
            "kind",
            "steps",
            "spindle_hours",
            "parts",
            "after_incident",
            "at_risk_percent",
            "counts_from",
            "starts_on",
            "cost",
        )
    }


def _step(plan):
    """The calendar step in one unit: years as months, weeks as days where both are given."""
    if plan.months and plan.years:
        return plan.years * 12 + plan.months, "months"
    if plan.weeks and plan.days:
        return plan.weeks * 7 + plan.days, "days"
    for unit in ("years", "months", "weeks", "days"):
        if count := getattr(plan, unit):
            return count, unit
    return None, "months"


class DoneForm(EntryForm):
    """That it is done, and when by the clock of the shop."""

    at = ShopTimeField(label="Done when")
    note = forms.CharField(label="Anything to note", max_length=200, required=False)

    def __init__(self, *args, zone, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["at"].zone = zone


class SkipForm(EntryForm):
    """Why it is not done this time."""

    reason = forms.CharField(
        label="Why it is skipped",
        max_length=200,
        help_text="It stays in the machine's history, with your name.",
    )
