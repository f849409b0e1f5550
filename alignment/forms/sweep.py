"""A sweep as it is typed: the boxes round the clock, the indicator's settings, what is saved."""

from collections import Counter
from decimal import Decimal

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS
from django.forms import BaseFormSet, formset_factory

from alignment.models import AcceptanceItem, Check
from alignment.services import TypedReading, TypedSweep
from alignment.shown import as_typed
from shop.forms import EntryForm
from shop.lengths import UNIT_SYMBOLS

from .fields import AngleField, LengthField, text_of, value_of
from .layouts import FIXED, LAYOUTS, MOST_BOXES, OWN, PREFIX, UNITS

# Common practice, no source: no dial indicator in use on these machines travels further.
LONGEST_READING_UM = Decimal(50_000)
LONGEST_SAG_UM = Decimal(5_000)
LARGEST_U_UM = Decimal(1_000)
STEEPEST_LEVER_DEG = 89
FEWEST_READINGS = 3
UNIT_WORDS = {"in": "inches", "mm": "millimetres", "um": "micrometres"}
# What is on the way to a number while it is being typed.
BEGUN = frozenset({"-", "+", "−", ".", ",", "-.", "+.", "−.", "-,", "+,", "−,"})


class ReadingField(LengthField):
    """A reading; `being_typed` lets pass, as nothing yet, what can still become one."""

    being_typed = False

    def clean(self, value):
        if self.being_typed and (value or "").strip() in BEGUN:
            return None
        return super().clean(value)


class ReadingForm(forms.Form):
    """One box: where the indicator stood and what it showed."""

    angle = AngleField(required=False, label="Angle")
    reading = ReadingField(required=False, label="Reading", longest_um=LONGEST_READING_UM)

    def __init__(self, *args, unit, fixed_angle, being_typed, **kwargs):
        super().__init__(*args, **kwargs)
        self.fixed_angle = fixed_angle
        self.fields["reading"].take_unit(unit)
        self.fields["reading"].being_typed = being_typed
        for field in self.fields.values():
            field.widget.attrs |= {"enterkeyhint": "next", "aria-describedby": self.notes_id}

    @property
    def notes_id(self):
        """The element that says what is wrong with this box."""
        return f"{self.prefix}-wrong"

    @property
    def place(self):
        """What the box is called: its angle, or its number where no angle is typed yet."""
        if self.fixed_angle is not None:
            return f"{self.fixed_angle:g}°"
        angle = self.cleaned_data.get("angle")
        return f"box {self.number}" if angle is None else f"{angle:g}°"

    @property
    def number(self):
        return int(self.prefix.rpartition("-")[2]) + 1

    def clean_angle(self):
        if self.fixed_angle is not None:
            return float(self.fixed_angle)
        angle = self.cleaned_data["angle"]
        return None if angle is None else angle % 360

    @property
    def angle_deg(self):
        return self.cleaned_data.get("angle")

    @property
    def typed(self):
        """The cleaned reading, None where there is none yet."""
        return self.cleaned_data.get("reading")

    @property
    def is_complete(self):
        return self.angle_deg is not None and self.typed is not None

    @property
    def is_waiting(self):
        """Whether something must still be typed here, though nothing is wrong."""
        begun = self.fixed_angle is not None or self.angle_deg is not None or self.typed is not None
        return begun and not self.is_complete and not self.errors

    def ask(self):
        """Say at the box what is missing."""
        if self.typed is None:
            self.add_error("reading", f"Type the reading at {self.place}.")
        else:
            self.add_error("angle", "Type the angle at which this was read.")


class _ReadingFormSet(BaseFormSet):
    """The boxes of a sweep; `whole` asks for everything that saving needs."""

    def __init__(self, data, *, layout, unit, whole):
        self.layout, self.unit, self.whole = layout, unit, whole
        super().__init__(data, prefix=PREFIX)

    @property
    def own_angles(self):
        return self.layout == OWN

    def total_form_count(self):
        return super().total_form_count() if self.own_angles else len(FIXED[self.layout])

    def get_form_kwargs(self, index):
        fixed = None if self.own_angles or index is None else FIXED[self.layout][index]
        return {"unit": self.unit, "fixed_angle": fixed, "being_typed": not self.whole}

    def clean(self):
        self._refuse_angles_given_twice()
        if not self.whole:
            return
        for form in self.waiting:
            form.ask()
        if self.own_angles and not any(form.errors for form in self.forms):
            self._ask_for_three()

    def _refuse_angles_given_twice(self):
        seen = Counter()
        for form in self.forms:
            angle = form.angle_deg
            if angle is None or not self.own_angles:
                continue
            seen[angle] += 1
            if seen[angle] == 2:
                form.add_error(
                    "angle", f"The angle {angle:g}° is given twice; each angle may stand once."
                )

    def _ask_for_three(self):
        complete = len(self.complete)
        if complete < FEWEST_READINGS:
            blank = next(form for form in self.forms if not form.is_complete)
            blank.add_error(
                "reading", f"A sweep needs at least three readings; there are {complete}."
            )

    @property
    def complete(self):
        return [form for form in self.forms if form.is_complete and not form.errors]

    @property
    def waiting(self):
        return [form for form in self.forms if form.is_waiting]

    @property
    def missing(self):
        """What must still be typed before the sweep can be worked out, in words."""
        places = [form.place for form in self.waiting]
        short = FEWEST_READINGS - len(self.complete) - len(places)
        if self.own_angles and short > 0:
            places.append(
                f"{short} more reading{'s' if short > 1 else ''} at {short} more "
                f"angle{'s' if short > 1 else ''}"
            )
        return places


ReadingFormSet = formset_factory(
    ReadingForm, formset=_ReadingFormSet, extra=0, absolute_max=MOST_BOXES, max_num=MOST_BOXES
)


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
