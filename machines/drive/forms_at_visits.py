"""Forms of a belt's look and of the answer to advice."""

from django import forms

from machines.engineering.belts import FEWEST_BELT_TEETH
from machines.register.fields import LONGEST_NOTE, ForceBox, LengthBox, in_units, measure
from shop.people.models import Role
from shop.people.telling import told_fields, told_today
from shop.web.forms import EntryForm

from .models import Belt, RecommendationStep
from .tension import Measured
from .tooth_lists import parse_tooth_list

State = RecommendationStep.State

# Whose word each step is: the owner decides, who orders and fits says so.
STEPS_OF = {
    Role.OWNER: [State.APPROVED, State.DEFERRED, State.DECLINED],
    Role.CONTRACTOR: [State.ORDERED, State.ARRIVED, State.FITTED, State.DONE],
}
NEEDS_REASON = {State.DEFERRED, State.DECLINED}
STEP_LABELS = {
    State.APPROVED: "approve it",
    State.DEFERRED: "put it off",
    State.DECLINED: "decline it",
    State.ORDERED: "it is ordered",
    State.ARRIVED: "it has arrived",
    State.DONE: "it is done",
}


class InspectionForm(EntryForm):
    """One look at a belt: the teeth that are not sound, or that all of them are; and what was not
    known of it before the cover came off."""

    count = forms.IntegerField(
        label="How many teeth it has",
        min_value=FEWEST_BELT_TEETH,
        max_value=2000,
        help_text="Not on record yet. Count from the belt's mark once round.",
    )
    profile = Belt._meta.get_field("profile").formfield(label="Its tooth profile", required=False)
    width_mm = LengthBox(label="Its width", max_digits=8, decimal_places=4, required=False)

    teeth = forms.CharField(
        label="Teeth that are not sound",
        required=False,
        max_length=1000,
        widget=forms.Textarea(
            attrs={
                "rows": 2,
                "autocapitalize": "off",
                "autocomplete": "off",
                "spellcheck": "false",
                "data-tooth-list": "",
            }
        ),
        help_text="Such as: 12 damaged, 13-15 worn. Damaged is nicked, cut or chipped; else worn, "
        "cracked or missing. Count from the belt's mark in its running direction.",
    )
    all_sound = forms.BooleanField(required=False)
    note = forms.CharField(
        label="Anything else seen",
        required=False,
        max_length=LONGEST_NOTE,
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    frequency_hz = measure("Belt frequency", "Hz", 7, 2)
    force_n = ForceBox(
        label="Or: pressed at mid-span with", max_digits=7, decimal_places=2, required=False
    )
    deflection_mm = LengthBox(label="Deflection", max_digits=6, decimal_places=2, required=False)
    span_mm = LengthBox(
        label="Free span, if not as on record", max_digits=8, decimal_places=2, required=False
    )

    TENSION = ("frequency_hz", "force_n", "deflection_mm", "span_mm")

    # What may be unknown of a belt, and the box that asks for it.
    ASKED = {"teeth": "count", "profile": "profile", "width_mm": "width_mm"}

    def __init__(self, *args, belt, unit="mm", **kwargs):
        super().__init__(*args, **kwargs)
        self.belt = belt
        for name in set(self.ASKED) - set(belt.unknown):
            del self.fields[self.ASKED[name]]
        in_units(self, unit)
        teeth = f"All {belt.teeth} teeth" if belt.teeth else "All teeth"
        self.fields["all_sound"].label = f"{teeth} were looked at and are sound"

    @property
    def asked(self):
        """The boxes for what was not known of the belt."""
        return [self[name] for name in self.ASKED.values() if name in self.fields]

    @property
    def learnt(self):
        """What the look tells of the belt itself, by the names of its fields."""
        given = {name: self.cleaned_data.get(box) for name, box in self.ASKED.items()}
        return {name: value for name, value in given.items() if value}

    def clean_teeth(self):
        """The typed list as tooth number to condition."""
        count = self.belt.teeth or self.cleaned_data.get("count")
        if count is None:
            raise forms.ValidationError("Say first how many teeth it has.")
        try:
            return parse_tooth_list(self.cleaned_data["teeth"], count)
        except ValueError as error:
            raise forms.ValidationError(str(error)) from error

    def clean(self):
        given = super().clean()
        if "teeth" not in given:
            return given
        if not given["teeth"] and not given["all_sound"]:
            self.add_error("teeth", "List the teeth that are not sound, or tick that all are.")
        elif given["teeth"] and given["all_sound"]:
            self.add_error(
                "all_sound", "The list names teeth that are not; untick this or clear it."
            )
        self._check_tension(given)
        return given

    def _check_tension(self, given):
        """Either a frequency, or a force with its deflection, or nothing of it."""
        if any(name in self.errors for name in self.TENSION):
            return
        frequency, force, deflection, span = (given.get(name) for name in self.TENSION)
        if frequency is not None and (force is not None or deflection is not None):
            self.add_error("force_n", "Give the frequency, or force and deflection, not both.")
        elif (force is None) != (deflection is None):
            self.add_error(
                "deflection_mm" if deflection is None else "force_n",
                "Force and deflection go together.",
            )
        elif span is not None and frequency is None and force is None:
            self.add_error("span_mm", "A span alone tells no tension.")

    @property
    def measured(self):
        """What was measured of the tension, None where it was not."""
        given = {name: self.cleaned_data.get(name) for name in self.TENSION}
        if given["frequency_hz"] is None and given["force_n"] is None:
            return None
        return Measured(**given)


class StepForm(EntryForm):
    """What becomes of a recommendation, by the person whose word it is."""

    state = forms.ChoiceField(
        label="Your decision",
        widget=forms.RadioSelect,
        error_messages={"required": "Choose your decision."},
    )
    note = forms.CharField(
        max_length=200, required=False, help_text="Needed to put it off or to decline it."
    )

    def __init__(self, *args, states, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["state"].choices = [(state, STEP_LABELS[state]) for state in states]
        if not NEEDS_REASON & set(states):
            self.fields["note"].help_text = ""
        if len(states) == 1:
            self.fields["state"].initial = states[0]
            self.fields["state"].widget = forms.HiddenInput()

    def clean(self):
        given = super().clean()
        if given.get("state") in NEEDS_REASON and not given.get("note"):
            self.add_error("note", "Say why: the reason is kept with it.")
        return given


class ToldStepForm(StepForm):
    """What the owner decided, told to the contractor: at which price, by whom, how and when."""

    price = forms.DecimalField(
        label="Price of one, as agreed",
        required=False,
        min_value=0,
        max_digits=10,
        decimal_places=2,
        help_text="With an approval; empty: as it stands above.",
    )

    def __init__(self, *args, shop, **kwargs):
        kwargs["initial"] = told_today(shop) | (kwargs.get("initial") or {})
        super().__init__(*args, states=STEPS_OF[Role.OWNER], **kwargs)
        self.fields["state"].label = "The owner's decision"
        self.fields.update(told_fields())
