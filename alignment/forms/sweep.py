"""A sweep as it is typed: the boxes round the clock, the indicator's settings, what is saved."""

from collections import Counter
from decimal import Decimal

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS
from django.forms import BaseFormSet, formset_factory

from alignment.measuring import FACE, TypedReading, TypedSweep, indicator_facts
from alignment.models import AcceptanceItem, Check, Indicator
from alignment.shown import as_typed
from shop.forms import EntryForm
from shop.lengths import UNIT_SYMBOLS

from .fields import AngleField, LengthField, MillimetreField, SmallNumberField, text_of, value_of
from .layouts import FIXED, LAYOUTS, MOST_BOXES, OWN, UNITS, prefix_of, sets_sent

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

    def __init__(self, data, *, layout, unit, whole, prefix):
        self.layout, self.unit, self.whole = layout, unit, whole
        super().__init__(data, prefix=prefix)

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


ROUND_SURFACES = [
    choice for choice in AcceptanceItem.Surface.choices if choice[0] in ("bore", "boss")
]


class TakenForm(EntryForm):
    """What is said of any set of readings: its phase, its indicator, how surely it was read."""

    phase = forms.ChoiceField(
        label="This sweep is", choices=Check.Phase, widget=forms.RadioSelect(attrs={"class": "row"})
    )
    unit = forms.ChoiceField(choices=UNITS, widget=forms.HiddenInput)
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
    temperature = SmallNumberField(
        required=False,
        most=50,
        unit="K",
        label="Temperatures differ by up to",
        help_text="Between what carries the indicator and what is measured.",
    )
    length = SmallNumberField(
        required=False,
        most=2000,
        unit="mm",
        label="over a height of",
        help_text="The distance whose expansion moves one centre past the other.",
    )
    note = Check._meta.get_field("note").formfield(label="Note")

    # The fields that take the unit beside the boxes.
    in_unit = ("reading_u",)

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
            "temperature_k": said["temperature"] or 0.0,
            "length_mm": said["length"] or 0.0,
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

    in_unit = ("reading_u", "sag", "sag_u")

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


class PlaneForm(forms.Form):
    """Where along the axis a set was swept."""

    z = MillimetreField(required=False, label="Plane")

    def __init__(self, data, *, needed, number, **kwargs):
        super().__init__(data, **kwargs)
        self.needed, self.place = needed, f"sweep {number}"
        self.fields["z"].widget.attrs |= {"enterkeyhint": "next", "aria-describedby": self.notes_id}

    @property
    def notes_id(self):
        """The element that says what is wrong with the plane."""
        return f"{self.prefix}-z-wrong"

    def clean(self):
        cleaned = super().clean()
        if self.needed and cleaned.get("z") is None and not self.errors:
            self.add_error("z", "Type at which plane, in mm along the axis, this was swept.")
        return cleaned


class SetOfReadings:
    """One sweep among those of a check: its plane and its boxes."""

    def __init__(self, data, *, index, layout, unit, whole, needs_plane):
        self.index, prefix = index, prefix_of(index)
        self.readings = ReadingFormSet(data, layout=layout, unit=unit, whole=whole, prefix=prefix)
        self.plane = PlaneForm(data, needed=whole and needs_plane, number=index + 1, prefix=prefix)

    @property
    def number(self):
        return self.index + 1

    @property
    def z_mm(self):
        return self.plane.cleaned_data.get("z")

    def is_valid(self):
        return all([self.readings.is_valid(), self.plane.is_valid()])


class SweepEntry:
    """Round sweeps as sent: `form` for what is said of them all, `sets` for their boxes.

    whole: everything that saving needs is asked for; otherwise what is missing is only named.
    """

    boxes_template = "alignment/_sets.html"

    def __init__(self, data, *, unit, item, indicators, whole=False):
        known_units, known_layouts = dict(UNITS), dict(LAYOUTS)
        self.item = item
        self.unit = data["unit"] if data.get("unit") in known_units else unit
        self.layout = data["layout"] if data.get("layout") in known_layouts else "4"
        self.form = SweepForm(data, unit=self.unit, item=item, whole=whole, indicators=indicators)
        count = sets_sent(data)
        named = [(data.get(f"{prefix_of(index)}-z") or "").strip() for index in range(count)]
        self.needs_planes = item.needs_planes or (count > 1 and any(named))
        self.sets = [
            SetOfReadings(
                data,
                index=index,
                layout=self.layout,
                unit=self.unit,
                whole=whole,
                needs_plane=self.needs_planes,
            )
            for index in range(count)
        ]

    @property
    def readings(self):
        """The boxes of the first set."""
        return self.sets[0].readings

    @property
    def boxes(self):
        """Everything typed into, for saying what is wrong with it."""
        return [box for one in self.sets for box in (one.plane, *one.readings)]

    @property
    def settings_fields(self):
        """The fields that are unfolded where they matter."""
        names = ["surface", "reading_u", "lever", "lever_error", "sag", "sag_on", "sag_u"]
        return _visible(self.form, [*names, "temperature", "length"])

    @property
    def settings_are_wrong(self):
        return any(field.errors for field in self.settings_fields)

    @property
    def own_angles(self):
        return self.layout == OWN

    @property
    def takes_planes(self):
        """Whether sweeps in several planes make sense: not on a face, nor for a TIR."""
        return self.item.surface != FACE and self.item.quantity != "tir"

    @property
    def shows_planes(self):
        return self.takes_planes and (len(self.sets) > 1 or self.item.needs_planes)

    @property
    def unit_symbol(self):
        return UNIT_SYMBOLS[self.unit]

    @property
    def unit_word(self):
        return UNIT_WORDS[self.unit]

    @property
    def indicator(self):
        """The indicator's settings in a few words, so that they need not be unfolded to be seen."""
        typed = {name: f"{self.form[name].value() or ''}".strip() for name in self.form.fields}
        words = [dict(AcceptanceItem.Surface.choices).get(typed["surface"], "surface not said")]
        words += _chosen(self.form, typed["indicator"])
        words += [
            f"{label} {as_typed(typed[name], self.unit)}"
            for name, label in (("reading_u", "u"), ("sag", "sag"))
            if typed[name]
        ]
        words += [f"lever {typed['lever'].rstrip('°')}°"] if typed["lever"] else []
        return words

    def is_valid(self):
        return all([self.form.is_valid(), *(one.is_valid() for one in self.sets)])

    @property
    def is_right_so_far(self):
        """Whether nothing that was typed is wrong; what a service refused does not count."""
        right = all(one.is_valid() for one in self.sets)
        return right and set(self.form.errors) <= {NON_FIELD_ERRORS}

    @property
    def missing(self):
        """What must still be typed, in words; looked at after `is_valid`."""
        missing = []
        for one in self.sets:
            of_set = f" of sweep {one.number}" if len(self.sets) > 1 else ""
            if self.needs_planes and one.z_mm is None:
                missing.append(f"the plane{of_set}")
            missing += [f"{place}{of_set}" for place in one.readings.missing]
        if self.form.on_face and not self.form.cleaned_data.get("radius"):
            missing.append("the radius swept on")
        return missing

    def sweeps(self):
        """The valid entry as the services take it."""
        settings = self.form.settings()
        return [
            TypedSweep(
                unit=self.unit,
                readings=tuple(_reading(form) for form in one.readings.complete),
                z_mm=one.z_mm,
                **settings,
            )
            for one in self.sets
        ]


def _visible(form, names):
    return [form[name] for name in names if not form[name].is_hidden]


def _chosen(form, pk):
    """The chosen indicator's name, in a list that may be empty."""
    names = {f"{one.pk}": f"{one}" for one in form.fields["indicator"].queryset} if pk else {}
    return [names[pk]] if pk in names else []


def _reading(form):
    typed = form.typed
    return TypedReading(form.angle_deg, typed.typed, typed.unit, typed.value_um)
