"""A sweep as it is typed: the boxes round the clock, the indicator's settings, what is saved."""

from decimal import Decimal

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS

from alignment.models import AcceptanceItem, Check
from alignment.services import TypedReading, TypedSweep
from alignment.shown import as_typed
from shop.forms import EntryForm
from shop.lengths import UNIT_SYMBOLS

from .fields import AngleField, LengthField, text_of, value_of
from .layouts import LAYOUTS, UNITS
from .readings import ReadingFormSet

LONGEST_SAG_UM = Decimal(5_000)
LARGEST_U_UM = Decimal(1_000)
STEEPEST_LEVER_DEG = 89
UNIT_WORDS = {"in": "inches", "mm": "millimetres", "um": "micrometres"}


class SweepForm(EntryForm):
    """What is said of the whole sweep."""

    phase = forms.ChoiceField(
        label="This sweep is", choices=Check.Phase, widget=forms.RadioSelect(attrs={"class": "row"})
    )
    unit = forms.ChoiceField(choices=UNITS, widget=forms.HiddenInput)
    layout = forms.ChoiceField(choices=LAYOUTS, widget=forms.HiddenInput)
    surface = forms.ChoiceField(
        label="Swept",
        choices=AcceptanceItem.Surface,
        widget=forms.RadioSelect(attrs={"class": "row"}),
        help_text="In a bore the plunger points outwards, on a boss or bar inwards.",
    )
    sag = LengthField(
        required=False,
        label="The sag check reads at the bottom",
        longest_um=LONGEST_SAG_UM,
        help_text="The indicator on its bar, zeroed at the top and turned to the bottom.",
    )
    sag_on = forms.ChoiceField(
        label="The sag check was made",
        choices=AcceptanceItem.Surface,
        widget=forms.RadioSelect(attrs={"class": "row"}),
        help_text="The plunger turns round between the two, so the sag changes its sign.",
    )
    lever = AngleField(
        required=False,
        most=STEEPEST_LEVER_DEG,
        label="Lever to the surface",
        help_text="The angle between a lever indicator's stylus and the surface; 0 for a plunger.",
    )
    reading_u = LengthField(
        required=False,
        label="Uncertainty of one reading",
        longest_um=LARGEST_U_UM,
        lowest_um=0,
        help_text="One standard uncertainty; a graduation or half of one is usual. Left empty, "
        "only the scatter of the readings counts, and three readings have none.",
    )
    note = Check._meta.get_field("note").formfield(label="Note")

    def __init__(self, data, *, unit, **kwargs):
        super().__init__(data, **kwargs)
        self.fields["sag"].take_unit(unit)
        self.fields["reading_u"].take_unit(unit)


class SweepEntry:
    """A whole sweep as sent: `form` for what is said of it, `readings` for its boxes.

    whole: everything that saving needs is asked for; otherwise what is missing is only named.
    """

    def __init__(self, data, *, unit, whole=False):
        known_units, known_layouts = dict(UNITS), dict(LAYOUTS)
        self.unit = data["unit"] if data.get("unit") in known_units else unit
        layout = data["layout"] if data.get("layout") in known_layouts else "4"
        self.form = SweepForm(data, unit=self.unit)
        self.readings = ReadingFormSet(data, layout=layout, unit=self.unit, whole=whole)

    @property
    def layout(self):
        return self.readings.layout

    @property
    def unit_symbol(self):
        return UNIT_SYMBOLS[self.unit]

    @property
    def unit_word(self):
        return UNIT_WORDS[self.unit]

    @property
    def indicator(self):
        """The indicator's settings in a few words, so that they need not be unfolded to be seen."""
        typed = {name: (self.form[name].value() or "").strip() for name in self.form.fields}
        words = [dict(AcceptanceItem.Surface.choices).get(typed["surface"], "surface not said")]
        words += [
            f"{label} {as_typed(typed[name], self.unit)}"
            for name, label in (("reading_u", "u"), ("sag", "sag"))
            if typed[name]
        ]
        words += [f"lever {typed['lever'].rstrip('°')}°"] if typed["lever"] else []
        return words

    def is_valid(self):
        return all([self.form.is_valid(), self.readings.is_valid()])

    @property
    def is_right_so_far(self):
        """Whether nothing that was typed is wrong; what a service refused does not count."""
        return self.readings.is_valid() and set(self.form.errors) <= {NON_FIELD_ERRORS}

    @property
    def missing(self):
        """What must still be typed, in words; looked at after `is_valid`."""
        return self.readings.missing

    def sweep(self):
        """The valid entry as the services take it."""
        said = self.form.cleaned_data
        turned = 1 if said["sag_on"] == said["surface"] else -1
        return TypedSweep(
            surface=said["surface"],
            unit=self.unit,
            readings=tuple(_reading(form) for form in self.readings.complete),
            sag_um=turned * value_of(said["sag"]),
            sag_typed=text_of(said["sag"]),
            lever_deg=said["lever"] or 0.0,
            reading_u_um=value_of(said["reading_u"]),
            reading_u_typed=text_of(said["reading_u"]),
        )


def _reading(form):
    typed = form.typed
    return TypedReading(form.angle_deg, typed.typed, typed.unit, typed.value_um)
