"""What people type about machines, checked."""

from django import forms
from django.utils import timezone

from shop.forms import EntryForm
from shop.models import Role, Visit

from .models import Incident, Machine, RecommendationStep
from .photos import clean_photo
from .toothlist import parse_tooth_list

# Long enough for what anybody types at a machine, short enough for a page.
LONGEST_TEXT = 5000

State = RecommendationStep.State

# Whose word each step is: the owner decides, who fits says so.
STEPS_OF = {
    Role.OWNER: [State.APPROVED, State.DEFERRED, State.DECLINED],
    Role.CONTRACTOR: [State.FITTED],
}
NEEDS_REASON = {State.DEFERRED, State.DECLINED}
STEP_LABELS = {
    State.APPROVED: "approve it",
    State.DEFERRED: "put it off",
    State.DECLINED: "decline it",
    State.FITTED: "it is fitted",
}


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
    """One look at a belt: the teeth that are not sound, or that all of them are."""

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

    def __init__(self, *args, belt, **kwargs):
        super().__init__(*args, **kwargs)
        self.belt = belt
        self.fields["all_sound"].label = f"All {belt.teeth} teeth were looked at and are sound"

    def clean_teeth(self):
        """The typed list as tooth number to condition."""
        try:
            return parse_tooth_list(self.cleaned_data["teeth"], self.belt.teeth)
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
        return given


class StepForm(EntryForm):
    """What becomes of a recommendation, by the person whose word it is."""

    state = forms.ChoiceField(
        label="What becomes of it",
        widget=forms.RadioSelect,
        error_messages={"required": "Choose what becomes of it."},
    )
    note = forms.CharField(
        max_length=200, required=False, help_text="Needed to put it off or to decline it."
    )

    def __init__(self, *args, role, **kwargs):
        super().__init__(*args, **kwargs)
        steps = STEPS_OF[role]
        self.fields["state"].choices = [(step, STEP_LABELS[step]) for step in steps]
        if not NEEDS_REASON & set(steps):
            self.fields["note"].help_text = ""
        if len(steps) == 1:
            self.fields["state"].initial = steps[0]
            self.fields["state"].widget = forms.HiddenInput()

    def clean(self):
        given = super().clean()
        if given.get("state") in NEEDS_REASON and not given.get("note"):
            self.add_error("note", "Say why: the reason is kept with it.")
        return given


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
