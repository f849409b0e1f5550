"""What forms of all apps share."""

import uuid

from django import forms
from django.forms.renderers import TemplatesSetting


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
