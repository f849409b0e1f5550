"""Sweeping a station from another one than its datum."""

from decimal import Decimal

from django import forms

from alignment.sheets.fields import LengthField
from alignment.sheets.models import AcceptanceItem
from machines.register.models import Station, not_behind_the_headstock

Surface = AcceptanceItem.Surface


class LoopForm(forms.Form):
    """From where, and how the indicator sits and looks there."""

    measured_from = forms.ModelChoiceField(
        label="Swept from", queryset=Station.objects.none(), empty_label=None
    )
    indicator_in = forms.ChoiceField(
        label="The indicator sits",
        choices=[
            (Station.Holder.DATUM, "there, sweeping this station"),
            (Station.Holder.STATION, "in this station, sweeping that one"),
        ],
        widget=forms.RadioSelect,
    )
    look = forms.ChoiceField(label="It looks", choices=Station.Look, widget=forms.RadioSelect)
    plane_mm = forms.FloatField(
        label="Swept plane in mm",
        validators=[not_behind_the_headstock],
        help_text="How far the swept surface lies from the headstock spindle's nose.",
    )
    surface = forms.ChoiceField(
        label="Swept", choices=[(s.value, s.label) for s in (Surface.BORE, Surface.BOSS)]
    )
    upper = LengthField(
        label="Offset allowed",
        lowest_um=Decimal("0.0001"),
        help_text="Such as the sum of what the links between them are allowed.",
    )

    def __init__(self, *args, station, unit, **kwargs):
        super().__init__(*args, **kwargs)
        others = station.machine.stations.current().exclude(pk__in=[station.pk, station.datum_id])
        self.fields["measured_from"].queryset = others
        self.fields["upper"].take_unit(unit)

    def said(self):
        """The cleaned entry as `close_loop` takes it."""
        given = dict(self.cleaned_data)
        return given | {"upper_um": given.pop("upper").value_um}
