"""Form fields, the forms of the ground app, and the way forms are drawn."""

import uuid

from django import forms
from django.forms.renderers import TemplatesSetting

from .fields import ShopTimeField
from .models import User, Visit, WorkSpell

LARGEST_DOCUMENT = 60_000_000


class Renderer(TemplatesSetting):
    """Draws every form with the site's own templates."""

    form_template_name = "includes/form.html"
    field_template_name = "includes/field.html"


class EntryForm(forms.Form):
    """A form that carries the id of the entry it makes, so that sending it twice makes one."""

    entry_id = forms.UUIDField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args, **kwargs):
        kwargs["initial"] = {"entry_id": uuid.uuid4()} | (kwargs.get("initial") or {})
        super().__init__(*args, **kwargs)


class ComeBackForm(forms.ModelForm):
    """What was left undone at a visit."""

    class Meta:
        model = Visit
        fields = ["come_back_for"]
        widgets = {"come_back_for": forms.Textarea(attrs={"rows": 3})}


class ClockForm(EntryForm):
    """A press of one of the clock's buttons."""

    STOP = "stop"
    turn = forms.ChoiceField(choices=[*WorkSpell.Kind.choices, (STOP, "stop")])


class SpellForm(EntryForm):
    """A stretch of one person's time at a visit."""

    who = forms.ModelChoiceField(queryset=User.objects.none(), empty_label=None)
    kind = forms.ChoiceField(
        label="What",
        choices=WorkSpell.Kind.choices,
        initial=WorkSpell.Kind.WORK,
        widget=forms.RadioSelect(attrs={"class": "choices row"}),
    )
    began_at = ShopTimeField(label="From")
    ended_at = ShopTimeField(label="Until", required=False)
    distance = forms.DecimalField(
        label="Distance travelled",
        required=False,
        min_value=0,
        max_digits=7,
        decimal_places=1,
        help_text="For travel only.",
    )

    def __init__(self, *args, visit, people, may_run=False, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["who"].queryset = people
        self.fields["who"].label_from_instance = lambda person: person.name
        for name in ("began_at", "ended_at"):
            self.fields[name].zone = visit.shop.zone
            self.fields[name].help_text = f"In the shop's time, {visit.shop.time_zone}."
        self.fields["ended_at"].required = not may_run

    def clean(self):
        given = super().clean()
        began_at, ended_at = given.get("began_at"), given.get("ended_at")
        if began_at and ended_at and ended_at < began_at:
            self.add_error("ended_at", "It cannot end before it began; expected a later time.")
        if given.get("distance") and given.get("kind") != WorkSpell.Kind.TRAVEL:
            self.add_error("distance", "Only travel has a distance; leave it empty for work.")
        return given


class SignForm(forms.Form):
    """Both parties' names and roles under a visit."""

    contractor_name = forms.CharField(label="Name", max_length=120)
    contractor_role = forms.CharField(label="Role", max_length=80, initial="Service contractor")
    customer_name = forms.CharField(label="Name", max_length=120)
    customer_role = forms.CharField(label="Role", max_length=80)
    read = forms.BooleanField(
        label="Both have read the draft report. What is signed no longer changes.",
        error_messages={"required": "Tick this once both have read the draft report."},
    )


class CheckFileForm(forms.Form):
    """A file that somebody holds, to be compared with what was issued."""

    file = forms.FileField(label="Your file")

    def clean_file(self):
        file = self.cleaned_data["file"]
        if file.size > LARGEST_DOCUMENT:
            raise forms.ValidationError(
                f"The file is {file.size / 1e6:.0f} MB; no document issued here is that large."
            )
        return file


class CorrectForm(EntryForm):
    """Why a signed visit is corrected."""

    reason = forms.CharField(
        label="What was wrong",
        max_length=140,
        help_text="It stands on the correction and on every later report of it.",
    )


class SettingsForm(forms.ModelForm):
    """What a person may set for themselves."""

    class Meta:
        model = User
        fields = ["first_name", "last_name", "email", "length_unit"]
