"""What is said of readings besides the readings: phase, indicator, settings."""

from decimal import Decimal

from django import forms

from alignment.sheets.fields import (
    AngleField,
    LengthField,
    MillimetreField,
    SmallNumberField,
    text_of,
    value_of,
)
from alignment.sheets.layouts import LAYOUTS, UNITS
from alignment.sheets.models import AcceptanceItem
from alignment.sweeps.measuring import FACE, indicator_facts
from alignment.sweeps.models import Check, Indicator
from shop.lengths import COUNTS
from shop.web.forms import EntryForm

LONGEST_SAG_UM = Decimal(5_000)
LARGEST_U_UM = Decimal(1_000)
STEEPEST_LEVER_DEG = 89
ROUND_SURFACES = [
    choice for choice in AcceptanceItem.Surface.choices if choice[0] in ("bore", "boss")
]


class TakenForm(EntryForm):
    """What is said of any set of readings: its phase, its indicator, how surely it was read."""

    phase = forms.ChoiceField(
        label="This sweep is", choices=Check.Phase, widget=forms.RadioSelect(attrs={"class": "row"})
    )
    unit = forms.ChoiceField(choices=UNITS, widget=forms.HiddenInput)
    counts_in = forms.ChoiceField(
        choices=list(COUNTS.items()), required=False, widget=forms.HiddenInput
    )
    sure = forms.CharField(required=False, max_length=400, widget=forms.HiddenInput)
    indicator = forms.ModelChoiceField(
        Indicator.objects.none(),
        required=False,
        label="Indicator",
        empty_label="none chosen",
        help_text="Its stated error and resolution make the uncertainty of a reading.",
    )
    reading_u = LengthField(
        required=False,
        label="Uncertainty of one reading",
        longest_um=LARGEST_U_UM,
        lowest_um=0,
        help_text="One standard uncertainty. Typed, it counts in place of what is stated of the "
        "indicator; with neither, only the scatter of the readings counts.",
    )
    form = LengthField(
        required=False,
        label="Out-of-round of the surface, at most",
        longest_um=LARGEST_U_UM,
        lowest_um=0,
        help_text="From peak to valley, where it is known or to be assumed. Three or four points "
        "cannot show it, nor can a bar; eight points can.",
    )
    temperature = SmallNumberField(
        required=False,
        most=50,
        unit="K",
        label="Temperatures differ by up to",
        help_text="Between what carries the indicator and what is measured.",
    )
    length = MillimetreField(
        required=False,
        lowest_mm=0,
        label="over a height of",
        help_text="The distance whose expansion moves one centre past the other.",
    )
    note = Check._meta.get_field("note").formfield(label="Note")

    # The fields that take the unit beside the boxes.
    in_unit = ("reading_u", "form", "length")

    def __init__(self, data, *, unit, indicators, **kwargs):
        super().__init__(data, **kwargs)
        self.fields["indicator"].queryset = indicators
        for name in self.in_unit:
            self.fields[name].take_unit(unit)

    def settings(self):
        """What the valid form says of a `TypedSweep`, whatever was swept."""
        said = self.cleaned_data
        return {
            "reading_u_um": value_of(said["reading_u"]),
            "reading_u_typed": text_of(said["reading_u"]),
            "form_um": said["form"] and said["form"].value_um,
            "form_typed": text_of(said["form"]),
            "temperature_k": said["temperature"] or 0.0,
            "length_mm": float(said["length"] or 0),
            **indicator_facts(said["indicator"]),
        }


class SweepForm(TakenForm):
    """What is said of the whole of a round sweep."""

    layout = forms.ChoiceField(choices=LAYOUTS, widget=forms.HiddenInput)
    surface = forms.ChoiceField(
        label="Swept",
        choices=ROUND_SURFACES,
        widget=forms.RadioSelect(attrs={"class": "row"}),
        help_text="In a bore the plunger points outwards, on a boss or bar inwards.",
    )
    radius = MillimetreField(
        required=False,
        label="Swept on a radius of",
        lowest_mm=0,
        help_text="From the spindle's axis to where the indicator touches the face.",
    )
    sag = LengthField(
        required=False,
        label="The sag check reads at the bottom",
        longest_um=LONGEST_SAG_UM,
        help_text="The indicator on its bar, zeroed at the top and turned to the bottom.",
    )
    sag_on = forms.ChoiceField(
        label="The sag check was made",
        choices=ROUND_SURFACES,
        widget=forms.RadioSelect(attrs={"class": "row"}),
        help_text="The plunger turns round between the two, so the sag changes its sign.",
    )
    sag_u = LengthField(
        required=False,
        label="Uncertainty of the sag check",
        longest_um=LARGEST_U_UM,
        lowest_um=0,
        help_text="One standard uncertainty; by how much it differs when made again.",
    )
    lever = AngleField(
        required=False,
        most=STEEPEST_LEVER_DEG,
        label="Lever to the surface",
        help_text="The angle between a lever indicator's stylus and the surface; 0 for a plunger.",
    )
    lever_error = AngleField(
        required=False, most=45, label="Lever angle known within", help_text="Give or take."
    )

    in_unit = ("reading_u", "form", "length", "radius", "sag", "sag_u")

    def __init__(self, data, *, item, whole, **kwargs):
        super().__init__(data, **kwargs)
        self.on_face, self.whole = item.surface == FACE, whole
        if self.on_face:
            for name in ("surface", "sag_on"):
                self.fields[name].choices = [(FACE, "on a face")]
                self.fields[name].widget = forms.HiddenInput()

    def clean(self):
        cleaned = super().clean()
        radius = cleaned.get("radius")
        if self.on_face and self.whole and not radius and "radius" not in self.errors:
            self.add_error("radius", "Type on which radius the face was swept; it is above zero.")
        return cleaned

    def settings(self):
        said = self.cleaned_data
        turned = 1 if said["sag_on"] == said["surface"] else -1
        return super().settings() | {
            "surface": said["surface"],
            "sag_um": turned * value_of(said["sag"]),
            "sag_typed": text_of(said["sag"]),
            "sag_u_um": value_of(said["sag_u"]),
            "sag_u_typed": text_of(said["sag_u"]),
            "lever_deg": said["lever"] or 0.0,
            "lever_error_deg": said["lever_error"] or 0.0,
            "radius_mm": said["radius"] if self.on_face else None,
        }
