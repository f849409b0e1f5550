"""What people type about a station of a machine."""

from django import forms
from django.core.exceptions import ValidationError

from alignment.models import Station

from .fields import MillimetreField, along_text

LONGEST_HOW = 2000


class StationForm(forms.ModelForm):
    """A station: what it is, from where it is measured, and how."""

    plane = MillimetreField(
        required=False,
        label="Swept plane",
        help_text="How far the swept surface lies from the headstock spindle's nose.",
    )

    class Meta:
        model = Station
        fields = ["name", "kind", "datum", "indicator_in", "look", "how"]
        widgets = {
            "how": forms.Textarea(attrs={"rows": 3}),
            "indicator_in": forms.RadioSelect,
            "look": forms.RadioSelect,
        }

    def __init__(self, *args, machine, unit, **kwargs):
        super().__init__(*args, **kwargs)
        self.machine = machine
        self.fields["plane"].take_unit(unit)
        if self.instance.pk:
            self.initial["plane"] = along_text(self.instance.plane_mm or None, unit)
        self._offer_datums()

    def _offer_datums(self):
        others = self.machine.stations.current().exclude(pk=self.instance.pk)
        field = self.fields["datum"]
        field.label, field.queryset = "Measured from", others
        is_first = self.instance.pk and self.instance.datum_id is None
        if is_first or not others:
            field.help_text = "The master datum is measured from nothing."
            field.empty_label = "Nothing: it is the master datum"
        elif self.instance.pk:
            field.required, field.empty_label = True, None
        else:
            field.empty_label = "What its kind is usually measured from"

    def clean_name(self):
        name = self.cleaned_data["name"].strip()
        there = self.machine.stations.current().exclude(pk=self.instance.pk)
        if there.filter(name__iexact=name).exists():
            raise ValidationError(f"This machine has a station called {name} already.")
        return name

    def clean_how(self):
        how = self.cleaned_data["how"]
        if len(how) > LONGEST_HOW:
            raise ValidationError(f"At most {LONGEST_HOW:,} characters are taken; shorten it.")
        return how

    def clean(self):
        given = super().clean()
        self.instance.plane_mm = float(given.get("plane") or 0)
        return given
