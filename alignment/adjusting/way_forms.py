"""How a station is adjusted, a form for each way; lengths in the person's unit, kept in mm."""

import re

from django import forms
from django.core.exceptions import ValidationError

from alignment.geometry.adjust.screws import PUSHES
from alignment.geometry.adjust.shims import PUSHES as SHIM_PUSHES
from alignment.sheets.directions import WORDS
from alignment.sheets.movers import refuse_bad_movers
from machines.register.fields import LengthBox, PlaceBox, in_units
from machines.register.models import Axis
from shop.lengths import UNIT_SYMBOLS, parse_length

from .models import AdjustingWay
from .ways import planned, way_of

Kind = AdjustingWay.Kind
SIZE = {"max_digits": 9, "decimal_places": 4}
# A foot's name, then its distance as a length is typed, such as 'far 7 in'.
FOOT = re.compile(r"(?P<name>.*?)\s*(?P<distance>[-+−]?[\d.,][^\s]*(\s*[^\s\d]+)?)")


class NumbersField(forms.CharField):
    """Numbers in a row, such as '0, 120, 240'; cleans to a list of floats."""

    def clean(self, value):
        text = super().clean(value)
        try:
            return [float(part) for part in text.replace(";", ",").split(",") if part.strip()]
        except ValueError as error:
            raise ValidationError(
                f"'{text}' is not a row of numbers; expected such as 0, 120, 240."
            ) from error


class WayForm(forms.Form):
    """What every way has; `settings_of` gives what the stored record keeps."""

    kind = None
    note = AdjustingWay._meta.get_field("note").formfield()

    def __init__(self, *args, unit="mm", **kwargs):
        super().__init__(*args, **kwargs)
        self.unit = unit
        in_units(self, unit)
        for name in ("feet", "stock"):
            if name in self.fields:
                self.fields[name].unit = UNIT_SYMBOLS[unit]

    def settings_of(self, cleaned):
        return {}

    def clean(self):
        cleaned = super().clean()
        if not self.errors:
            self.record = AdjustingWay(
                kind=self.kind, settings=self.settings_of(cleaned), note=cleaned["note"]
            )
            try:
                planned(way_of(self.record), front_um=1.0, up_um=1.0)
            except ValueError as error:
                raise ValidationError(str(error)) from error
        return cleaned


class ShiftForm(WayForm):
    """A bolted casting that shifts freely once its bolts are loose."""

    kind = Kind.SHIFT


class ScrewsForm(WayForm):
    """Jack or levelling screws on a bolt circle."""

    kind = Kind.SCREWS
    radius_mm = LengthBox(label="Radius of the screws' circle", **SIZE)
    angles_deg = NumbersField(
        label="Where the screws stand, in degrees",
        help_text="From the top, clockwise as the indicator looks, such as: 0, 120, 240.",
    )
    pitch_mm = LengthBox(
        label="Pitch of the thread",
        help_text="Such as: 1 mm for M6, 0.05 in for 20 to the inch.",
        **SIZE,
    )
    clockwise_pushes = forms.ChoiceField(
        label="A clockwise turn moves this corner",
        choices=[(way, way) for way in PUSHES],
    )
    hold = forms.IntegerField(
        label="Screw to hold still (optional)",
        required=False,
        min_value=1,
        max_value=12,
        help_text="Its number in the row above, from 1. Left empty, all share the turns.",
    )
    plane_mm = PlaceBox(
        label="The screws' plane from the swept plane",
        initial=0,
        help_text="Away from the headstock is plus.",
        **SIZE,
    )

    def settings_of(self, cleaned):
        said = {name: cleaned[name] for name in ("angles_deg", "clockwise_pushes")}
        said |= {name: float(cleaned[name]) for name in ("radius_mm", "pitch_mm", "plane_mm")}
        return said | ({"hold": cleaned["hold"] - 1} if cleaned["hold"] else {})


class ShimsForm(WayForm):
    """Shims under feet at given places along the axis."""

    kind = Kind.SHIMS
    feet = forms.CharField(
        label="Feet, each with its distance from the swept plane",
        help_text="Away from the headstock is plus. Such as: near 0, far 180 mm, or far 7 in.",
    )
    stock = forms.CharField(
        label="Thicknesses in stock",
        help_text="Such as: 0.01 mm, 0.02 mm, 0.05 mm, or .0005 in, .001 in.",
    )
    pushes = forms.ChoiceField(
        label="A thicker shim moves it", choices=[(way, WORDS[way]) for way in SHIM_PUSHES]
    )
    most_shims = forms.IntegerField(label="Shims on each other at most", min_value=1, max_value=4)

    def clean_feet(self):
        feet = {}
        for part in self.cleaned_data["feet"].split(","):
            name, distance = self._foot(part.strip())
            feet[name] = distance
        if "" in feet:
            raise ValidationError("Name each foot before its distance, such as near 0.")
        return feet

    def _foot(self, text):
        """(name, mm) of what was typed of one foot."""
        named = FOOT.fullmatch(text)
        try:
            return named["name"].strip(), float(parse_length(named["distance"], self.unit)) / 1000
        except (TypeError, ValueError) as error:
            raise ValidationError(
                f"'{text}' is not a foot with its distance; expected such as near 0."
            ) from error

    def clean_stock(self):
        parts = [part for part in self.cleaned_data["stock"].split(",") if part.strip()]
        try:
            return [float(parse_length(part.strip(), self.unit)) for part in parts]
        except ValueError as error:
            raise ValidationError(str(error)) from error

    def settings_of(self, cleaned):
        return {
            "feet": cleaned["feet"],
            "stock_um": cleaned["stock"],
            "pushes": cleaned["pushes"],
            "most_shims": cleaned["most_shims"],
        }


class ControlForm(WayForm):
    """Offsets that are keyed in at the control."""

    kind = Kind.CONTROL
    SIDES = (("front", "to the front"), ("up", "up"))

    def __init__(self, *args, axes=(), **kwargs):
        super().__init__(*args, **kwargs)
        names = [("", "none")] + [(axis.name, axis.name) for axis in axes]
        for side, words in self.SIDES:
            self.fields[f"{side}_axis"] = forms.ChoiceField(
                label=f"Axis that moves it {words}", choices=names, required=False
            )
            self.fields[f"{side}_sign"] = forms.TypedChoiceField(
                label=f"A larger offset moves it {words}",
                choices=[(1, "yes"), (-1, "no, the other way")],
                coerce=int,
            )
            self.fields[f"{side}_on"] = forms.ChoiceField(
                label="Its offset counts on the",
                choices=[("radius", "radius"), ("diameter", "diameter")],
            )
        self.fields["step"] = forms.CharField(label="Least increment", initial="0.001 mm")
        self.fields["step"].unit = UNIT_SYMBOLS[self.unit]

    def clean_step(self):
        try:
            return float(parse_length(self.cleaned_data["step"], self.unit))
        except ValueError as error:
            raise ValidationError(str(error)) from error

    def settings_of(self, cleaned):
        return {
            side: {
                "letter": cleaned[f"{side}_axis"],
                "sign": cleaned[f"{side}_sign"],
                "diameter": cleaned[f"{side}_on"] == "diameter",
                "step_um": cleaned["step"],
            }
            for side, _words in self.SIDES
            if cleaned[f"{side}_axis"]
        }


class MoversForm(forms.Form):
    """The axes that move a station against its datum."""

    axes = forms.ModelMultipleChoiceField(
        label="Axes that move it",
        queryset=Axis.objects.none(),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="Only those that move it against its datum. A casting that is bolted has none.",
    )

    def __init__(self, *args, station, **kwargs):
        super().__init__(*args, **kwargs)
        self.station = station
        self.fields["axes"].queryset = station.machine.axes.all()
        self.fields["axes"].label_from_instance = _axis_words

    def clean_axes(self):
        axes = list(self.cleaned_data["axes"])
        try:
            refuse_bad_movers(self.station, axes)
        except ValueError as error:
            raise ValidationError(str(error)) from error
        return axes


def _axis_words(axis):
    return f"{axis}, plus is {axis.get_plus_display()}"


FORMS = {form.kind: form for form in (ShiftForm, ScrewsForm, ShimsForm, ControlForm)}


def way_form(kind, data=None, *, axes=(), unit="mm"):
    """The form for one kind of way; bare lengths are in `unit`, "in" or "mm"."""
    form = FORMS[kind]
    return form(data, axes=axes, unit=unit) if form is ControlForm else form(data, unit=unit)
