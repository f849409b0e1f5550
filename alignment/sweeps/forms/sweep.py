"""Round sweeps as they are typed: planes and repeats, each with its boxes round the clock."""

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS

from alignment.sheets.fields import MillimetreField
from alignment.sheets.formatting import as_typed
from alignment.sheets.layouts import LAYOUTS, OWN, UNITS, prefix_of, sets_sent
from alignment.sheets.models import AcceptanceItem
from alignment.sweeps.measuring import FACE, TypedReading, TypedSweep
from shop.lengths import UNIT_SYMBOLS

from .counting import counting_of
from .lines import line_box
from .readings import ReadingFormSet
from .sweep_settings import SweepForm

UNIT_WORDS = {"in": "inches", "mm": "millimetres", "um": "micrometres"}


class PlaneForm(forms.Form):
    """Where along the axis a set was swept."""

    z = MillimetreField(required=False, label="Plane")

    def __init__(self, data, *, needed, number, unit, **kwargs):
        super().__init__(data, **kwargs)
        self.fields["z"].take_unit(unit)
        self.needed, self.place = needed, f"sweep {number}"
        self.fields["z"].widget.attrs |= {"enterkeyhint": "next", "aria-describedby": self.notes_id}

    @property
    def notes_id(self):
        """The element that says what is wrong with the plane."""
        return f"{self.prefix}-z-wrong"

    def clean(self):
        cleaned = super().clean()
        if self.needed and cleaned.get("z") is None and not self.errors:
            self.add_error("z", "Type at which plane along the axis this was swept.")
        return cleaned


class SetOfReadings:
    """One sweep among those of a check: its plane and its boxes."""

    def __init__(self, data, *, index, layout, unit, counts, whole, needs_plane):
        self.index, prefix = index, prefix_of(index)
        self.readings = ReadingFormSet(
            data, layout=layout, counts=counts, whole=whole, prefix=prefix
        )
        needed = whole and needs_plane
        self.plane = PlaneForm(data, needed=needed, number=index + 1, unit=unit, prefix=prefix)

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
    choices_template = "alignment/_round_choices.html"

    def __init__(self, data, *, unit, item, indicators, whole=False):
        known_units, known_layouts = dict(UNITS), dict(LAYOUTS)
        self.item = item
        self.unit = data["unit"] if data.get("unit") in known_units else unit
        self.layout = data["layout"] if data.get("layout") in known_layouts else "4"
        self.counts = counting_of(data, self.unit, indicators)
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
                counts=self.counts,
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
    def lines(self):
        """The readings of each set, as `LineBox`es; looked at after `is_valid`."""
        for one in self.sets:
            yield [line_box(box["reading"], box.place, self.counts) for box in one.readings]

    @property
    def boxes(self):
        """Everything typed into, for saying what is wrong with it."""
        planes = self.shows_planes
        return [
            box
            for one in self.sets
            for box in ((one.plane, *one.readings) if planes else one.readings)
        ]

    @property
    def settings_fields(self):
        """The fields that are unfolded where they matter."""
        names = ["surface", "reading_u", "form", "lever", "lever_error", "sag", "sag_on", "sag_u"]
        return visible(self.form, [*names, "temperature", "length"])

    @property
    def settings_are_wrong(self):
        return bool(set(self.form.errors) - {NON_FIELD_ERRORS, "phase"})

    @property
    def shape(self):
        """How the boxes stand: round a dial, or one under the other."""
        return OWN if self.own_angles else "round"

    @property
    def says(self):
        """What is set up, in a line."""
        return [dict(LAYOUTS)[self.layout], *self.indicator]

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
        words += chosen(self.form, typed["indicator"])
        words += [
            f"{label} {as_typed(typed[name], self.unit)}"
            for name, label in (("reading_u", "u"), ("form", "out-of-round"), ("sag", "sag"))
            if typed[name]
        ]
        words += [f"lever {typed['lever'].rstrip('°')}°"] if typed["lever"] else []
        return words

    def is_valid(self):
        return all([self.form.is_valid(), *(one.is_valid() for one in self.sets)])

    @property
    def is_right_so_far(self):
        """Whether nothing that was typed is wrong; what a service refused does not count."""
        right = set(self.form.errors) <= {NON_FIELD_ERRORS}
        return all([right, *(one.is_valid() for one in self.sets)])

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


def visible(form, names):
    return [form[name] for name in names if not form[name].is_hidden]


def chosen(form, pk):
    """The chosen indicator's name, in a list that may be empty."""
    names = {f"{one.pk}": f"{one}" for one in form.fields["indicator"].queryset} if pk else {}
    return [names[pk]] if pk in names else []


def _reading(form):
    typed = form.typed
    return TypedReading(form.angle_deg, typed.typed, typed.unit, typed.value_um)
