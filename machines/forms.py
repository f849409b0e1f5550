"""What people type about machines, checked."""

from django import forms
from django.conf import settings
from django.utils import timezone

from shop.forms import EntryForm
from shop.models import Role, Visit
from shop.telling import told_fields, told_today

from .drive.tension import Measured
from .engineering.belts import FEWEST_BELT_TEETH
from .fields import ForceBox, LengthBox, in_units, measure
from .models import Belt, Incident, Machine, RecommendationStep
from .photos import clean_photo
from .toothlist import parse_tooth_list

# Long enough for what anybody types at a machine, short enough for a page.
LONGEST_TEXT = 20_000

State = RecommendationStep.State

# Whose word each step is: the owner decides, who orders and fits says so.
STEPS_OF = {
    Role.OWNER: [State.APPROVED, State.DEFERRED, State.DECLINED],
    Role.CONTRACTOR: [State.ORDERED, State.FITTED, State.DONE],
}
NEEDS_REASON = {State.DEFERRED, State.DECLINED}
STEP_LABELS = {
    State.APPROVED: "approve it",
    State.DEFERRED: "put it off",
    State.DECLINED: "decline it",
    State.ORDERED: "it is ordered",
    State.DONE: "it is done",
}


class TakeOverForm(forms.Form):
    """The record of a machine that another shop handed over."""

    file = forms.FileField(label="The file that the other shop took out")
    number = forms.CharField(
        label="Its number here",
        max_length=20,
        required=False,
        help_text="Empty: what it was called there.",
    )

    def clean_file(self):
        file = self.cleaned_data["file"]
        if file.size > settings.MAX_HANDOVER_BYTES:
            raise forms.ValidationError(
                f"The file is {file.size / 1e6:.0f} MB; at most "
                f"{settings.MAX_HANDOVER_BYTES / 1e6:.0f} MB are taken."
            )
        return file


class ReleaseForm(forms.Form):
    """Why a stopped machine may run again."""

    reason = forms.CharField(
        label="Why it may run again",
        max_length=200,
        help_text="It stands in the machine's history, with your name.",
    )


class OpenVisitForm(EntryForm):
    """A visit to a machine: a new one, or one to its shop that is open already."""

    join = forms.ModelChoiceField(
        label="Visit that is open already",
        queryset=Visit.objects.none(),
        required=False,
        empty_label="None, open a new one",
    )
    incident = forms.ModelChoiceField(
        label="Incident that calls for it",
        queryset=Incident.objects.none(),
        required=False,
        empty_label="None",
        error_messages={"invalid_choice": "That is not an open incident of this machine."},
    )
    purpose = forms.CharField(max_length=200, required=False)
    planned_for = forms.DateField(
        label="Planned for",
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        help_text="Leave it empty when you are at the machine now.",
    )

    def __init__(self, *args, machine, firm, **kwargs):
        super().__init__(*args, **kwargs)
        self.today = timezone.localdate(timezone=machine.shop.zone)
        self.fields["incident"].queryset = machine.incidents.open()
        self.fields["join"].queryset = machine.shop.visits.unsigned().filter(firm=firm)
        if not self.fields["join"].queryset.exists():
            del self.fields["join"]
            self.fields["purpose"].required = True
        else:
            self.fields["purpose"].help_text = "For a new visit."

    def clean_planned_for(self):
        day = self.cleaned_data["planned_for"]
        if day and day < self.today:
            raise forms.ValidationError(
                "That day has passed; a visit is planned for today or later."
            )
        return day

    def clean(self):
        given = super().clean()
        if not given.get("join") and not given.get("purpose") and "purpose" not in self.errors:
            self.add_error("purpose", "Say what the visit is for.")
        return given


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
        help_text="Such as: 12 marked, 13-15 worn. Conditions: marked, worn, cracked, missing. "
        "Count from the belt's mark in its running direction.",
    )
    all_sound = forms.BooleanField(required=False)
    note = forms.CharField(
        label="Anything else seen",
        required=False,
        max_length=LONGEST_TEXT,
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
        error_messages={"required": "Choose what becomes of it."},
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


class FollowUpForm(EntryForm):
    """What somebody who looked at an incident found, and whether that closes it."""

    found = forms.CharField(
        label="What was found",
        required=False,
        max_length=LONGEST_TEXT,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Needed to close it.",
    )


class CheckLineForm(forms.Form):
    """What was found at one line of a visit's check list."""

    found = forms.CharField(label="What was found", required=False, max_length=200)


class FindingsForm(forms.Form):
    """What was found at a machine, in words."""

    findings = forms.CharField(
        label="What was found",
        required=False,
        max_length=LONGEST_TEXT,
        widget=forms.Textarea(attrs={"rows": 8}),
        help_text="It stands in the service report as you write it here.",
    )


class AddMachineForm(forms.Form):
    """Another machine of the shop, and the incident that calls for it."""

    machine = forms.ModelChoiceField(queryset=Machine.objects.none(), empty_label=None)
    incident = forms.ModelChoiceField(
        label="Incident that calls for it",
        queryset=Incident.objects.none(),
        required=False,
        empty_label="None",
    )

    def __init__(self, *args, visit, **kwargs):
        super().__init__(*args, **kwargs)
        there = Machine.objects.filter(shop=visit.shop)
        self.fields["machine"].queryset = there.exclude(visited__visit=visit)
        incidents = Incident.objects.open().filter(machine__in=there).select_related("machine")
        self.fields["incident"].queryset = incidents
        self.fields["incident"].label_from_instance = lambda one: f"{one.machine.number}: {one}"

    def clean(self):
        given = super().clean()
        machine, incident = given.get("machine"), given.get("incident")
        if machine and incident and incident.machine_id != machine.pk:
            self.add_error("incident", f"That incident is not machine {machine.number}'s.")
        return given


class FindingPhotoForm(EntryForm):
    """A photo of what was found."""

    image = forms.FileField(
        label="Photo", widget=forms.FileInput(attrs={"accept": "image/jpeg,image/png,image/webp"})
    )
    caption = forms.CharField(label="What it shows", max_length=160)

    def clean_image(self):
        return clean_photo(self.cleaned_data["image"])
