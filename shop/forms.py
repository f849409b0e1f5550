"""Form fields, the forms of the ground app, and the way forms are drawn."""

import uuid

from django import forms
from django.forms.renderers import TemplatesSetting

from .models import User, Visit


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

    def entry_id_of(self, number):
        """The id of one of several entries that the form makes, the same when sent again."""
        given = self.cleaned_data["entry_id"]
        return uuid.uuid5(given, str(number)) if given else None


class ComeBackForm(forms.ModelForm):
    """What was left undone at a visit."""

    class Meta:
        model = Visit
        fields = ["come_back_for"]
        widgets = {"come_back_for": forms.Textarea(attrs={"rows": 3})}


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
        fields = ["first_name", "last_name", "email", "length_unit", "wants_reminders"]
