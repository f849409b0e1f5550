"""Forms that open a visit and enter what was found."""

from django import forms

from machines.incidents.models import Incident
from machines.register.fields import LONGEST_NOTE
from machines.register.models import Machine
from machines.register.photos import clean_photo
from shop.visits.models import Visit
from shop.web.forms import EntryForm


class OpenVisitForm(EntryForm):
    """A visit to a machine: a new one, or one to its shop that is open already."""

    join = forms.ModelChoiceField(
        label="Visit that is open already",
        queryset=Visit.objects.none(),
        required=False,
        empty_label="None, open a new one",
    )
    incident = forms.ModelChoiceField(
        label="Incident it is for",
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
        self.today = machine.shop.today
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


class FindingsForm(forms.Form):
    """What was found at a machine, in words."""

    findings = forms.CharField(
        label="What was found",
        required=False,
        max_length=LONGEST_NOTE,
        widget=forms.Textarea(attrs={"rows": 8}),
        help_text="It stands in the service report as you write it here.",
    )


class AddMachineForm(forms.Form):
    """Another machine of the shop, and the incident that calls for it."""

    machine = forms.ModelChoiceField(queryset=Machine.objects.none(), empty_label=None)
    incident = forms.ModelChoiceField(
        label="Incident it is for",
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
