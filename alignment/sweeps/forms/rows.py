"""Readings that are typed in rows: along a test bar, or on a bar and a flat beside it."""

import uuid
from decimal import Decimal

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS

from alignment.geometry.frame import LEFT, RIGHT
from alignment.sheets.fields import (
    LengthField,
    MillimetreField,
    along_as_typed,
    along_text,
    text_of,
)
from alignment.sheets.formatting import as_typed
from alignment.sheets.layouts import UNITS
from alignment.sweeps.measuring import BAR, BOSS, FLAT, TypedReading, TypedSweep
from alignment.sweeps.models import Sweep
from shop.lengths import UNIT_SYMBOLS

from .counting import counting_of
from .lines import line_box
from .readings import LONGEST_READING_UM, ReadingField
from .sweep import UNIT_WORDS, chosen, visible
from .sweep_settings import TakenForm

ROWS_AT_FIRST, MOST_ROWS = 3, 12
FEWEST_POSITIONS = 2
BAR_COLUMNS = ("top", "side", "top_turned", "side_turned")
BAR_ANGLES = (0, 90, 180, 270)
FLAT_PLACES = (1, 2, 3)
LARGEST_BAR_ERROR_UM = Decimal(500)
THICKEST_BAR_UM = Decimal(200_000)


class BarForm(TakenForm):
    """What is said of a whole travel along a bar."""

    side = forms.ChoiceField(
        label="The side reading is taken",
        choices=[(Sweep.Side.FRONT, "at the front"), (Sweep.Side.REAR, "at the rear")],
        widget=forms.RadioSelect(attrs={"class": "row"}),
        help_text="Front is the operator's side.",
    )
    bar_error = LengthField(
        required=False,
        label="The bar's own error, give or take",
        longest_um=LARGEST_BAR_ERROR_UM,
        lowest_um=0,
        help_text="Only where the bar is not turned: how far its axis may be off the spindle's.",
    )

    in_unit = ("reading_u", "form", "length", "bar_error")

    def settings(self):
        said = self.cleaned_data
        error = said["bar_error"]
        return super().settings() | {
            "bar_error_um": error and error.value_um,
            "bar_error_typed": text_of(error),
        }


class FlatForm(TakenForm):
    """What is said of a flat held against a bar in the spindle."""

    diameter = LengthField(
        label="The bar's diameter", longest_um=THICKEST_BAR_UM, lowest_um=0, required=False
    )

    in_unit = ("reading_u", "length", "diameter")

    def settings(self):
        diameter = self.cleaned_data["diameter"]
        return super().settings() | {
            "diameter_um": diameter and diameter.value_um,
            "diameter_typed": text_of(diameter),
        }


class RowForm(forms.Form):
    """A row of boxes; `boxes` are (name, label) of its readings."""

    def __init__(
        self, data, *, boxes, unit, counts, being_typed, place, positioned=False, **kwargs
    ):
        super().__init__(data, **kwargs)
        self.place, self.names = place, [name for name, _ in boxes]
        if positioned:
            self.fields["z"] = MillimetreField(required=False, label="Position")
            self.fields["z"].take_unit(unit)
        for name, label in boxes:
            field = ReadingField(required=False, label=label, longest_um=LONGEST_READING_UM)
            counts.told_to(field)
            field.being_typed = being_typed
            field.widget.attrs["data-reading"] = True
            self.fields[name] = field
        for field in self.fields.values():
            field.widget.attrs |= {"enterkeyhint": "next", "aria-describedby": self.notes_id}

    @property
    def notes_id(self):
        return f"{self.prefix}-wrong"

    def read(self, name):
        return self.cleaned_data.get(name)

    @property
    def is_empty(self):
        return all(value is None for value in self.cleaned_data.values()) and not self.errors


class RowsEntry:
    """What all entries in rows have in common with `forms.sweep.SweepEntry`."""

    form_class = None
    shape = "rows"
    settings_names = ()

    def __init__(self, data, *, unit, item, indicators, whole=False):
        self.item, self.whole = item, whole
        self.unit = data["unit"] if data.get("unit") in dict(UNITS) else unit
        self.counts = counting_of(data, self.unit, indicators)
        self.form = self.form_class(data, unit=self.unit, indicators=indicators)
        self.boxes = self._rows(data)

    def _row(self, data, prefix, boxes, place, *, positioned=False):
        return RowForm(
            data,
            boxes=boxes,
            unit=self.unit,
            counts=self.counts,
            being_typed=not self.whole,
            place=place,
            positioned=positioned,
            prefix=prefix,
        )

    @property
    def unit_symbol(self):
        return UNIT_SYMBOLS[self.unit]

    @property
    def unit_word(self):
        return UNIT_WORDS[self.unit]

    @property
    def indicator(self):
        """The settings in a few words, so that they need not be unfolded to be seen."""
        typed = {name: f"{self.form[name].value() or ''}".strip() for name in self.form.fields}
        words = chosen(self.form, typed["indicator"])
        if typed["reading_u"]:
            words.append(f"u {as_typed(typed['reading_u'], self.unit)}")
        return words or ["nothing said of the indicator"]

    @property
    def settings_fields(self):
        return visible(self.form, ["reading_u", *self.settings_names, "temperature", "length"])

    @property
    def settings_are_wrong(self):
        return bool(set(self.form.errors) - {NON_FIELD_ERRORS, "phase", "diameter"})

    @property
    def says(self):
        """What is set up, in a line."""
        return self.indicator

    def is_valid(self):
        right = all([self.form.is_valid(), *(row.is_valid() for row in self.boxes)])
        if right and self.whole:
            self._ask()
            right = not self.form.errors and not any(row.errors for row in self.boxes)
        return right

    @property
    def lines(self):
        """The readings of each column of a bar, or of the bar and the flat, as `LineBox`es."""
        for fields in self._lines():
            yield [line_box(row[name], row.place, self.counts) for row, name in fields]

    @property
    def is_right_so_far(self):
        right = set(self.form.errors) <= {NON_FIELD_ERRORS}
        return all([right, *(row.is_valid() for row in self.boxes)])

    def _ask(self):
        """Say at the first box what saving still needs."""
        if missing := self.missing:
            row, name, words = self._first_missing()
            if row is None:
                self.form.add_error(name, words)
            else:
                row.add_error(name, f"{words} Still missing: {', '.join(missing)}.")

    def _taken(self, surface, readings, **more):
        return TypedSweep(
            surface=surface, unit=self.unit, readings=tuple(readings), **self.form.settings() | more
        )


class BarEntry(RowsEntry):
    """Readings along a test bar, on top and on one side, plain and with the bar turned."""

    boxes_template = "alignment/_bar_rows.html"
    choices_template = "alignment/_bar_choices.html"
    form_class = BarForm
    settings_names = ("bar_error", "form")
    columns = (
        ("top", "Top"),
        ("side", "Side"),
        ("top_turned", "Top, bar turned"),
        ("side_turned", "Side, bar turned"),
    )

    def _rows(self, data):
        return [
            self._row(data, f"row{n}", self.columns, f"position {n + 1}", positioned=True)
            for n in range(rows_sent(data))
        ]

    def _lines(self):
        return [[(row, name) for row in self.boxes] for name, _ in self.columns]

    @property
    def _filled(self):
        return [row for row in self.boxes if not row.is_empty]

    @property
    def is_turned(self):
        """Whether anything was read with the bar turned."""
        return any(
            row.read(name) is not None
            for row in self._filled
            for name in ("top_turned", "side_turned")
        )

    def _wanted(self):
        names = dict(self.columns)
        return {name: names[name] for name in BAR_COLUMNS[: 4 if self.is_turned else 2]}

    @property
    def missing(self):
        missing = []
        for row in self._filled:
            if row.read("z") is None:
                missing.append(f"the distance of {row.place}")
            missing += [
                f"{words.casefold()} at {row.place}"
                for name, words in self._wanted().items()
                if row.read(name) is None
            ]
        if len(self._filled) < FEWEST_POSITIONS:
            missing.append("readings at two positions at least")
        return missing

    def _first_missing(self):
        for row in self._filled:
            for name in ("z", *self._wanted()):
                if row.read(name) is None:
                    return row, name, "This position is not whole."
        row = next(row for row in self.boxes if row.is_empty)
        return row, "z", "A bar is read at two positions at least."

    def _angle(self, line):
        """Where on the clock of the item's dial a line lies."""
        if line == Sweep.Side.TOP:
            return 0.0
        at_right = (line == Sweep.Side.FRONT) == (self.item.view.front_at == RIGHT)
        return 90.0 if at_right else 270.0

    def sweeps(self):
        """The lines along the bar, as the services take them; positions grow outwards."""
        rows = sorted(self._filled, key=lambda row: row.read("z"))
        side = self.form.cleaned_data["side"]
        lines = []
        for name in self._wanted():
            line = Sweep.Side.TOP if name.startswith("top") else side
            angle = self._angle(line)
            readings = [
                TypedReading(
                    angle,
                    row.read(name).typed,
                    row.read(name).unit,
                    row.read(name).value_um,
                    place,
                    row.read("z"),
                )
                for place, row in enumerate(rows, start=1)
            ]
            turned = name.endswith("turned")
            lines.append(self._taken(BAR, readings, side=str(line), turned=turned))
        return lines


class FlatEntry(RowsEntry):
    """Readings on a bar as the spindle turns, and along a flat with the same zero."""

    boxes_template = "alignment/_flat_rows.html"
    choices_template = "alignment/_flat_choices.html"
    form_class = FlatForm
    settings_names = ()

    def _rows(self, data):
        bar = [(f"at{angle}", f"Turned to {angle}°") for angle in BAR_ANGLES]
        flat = [(f"at{place}", f"Place {place}") for place in FLAT_PLACES]
        return [
            self._row(data, "bar", bar, "the bar"),
            self._row(data, "flat", flat, "the flat"),
        ]

    def _lines(self):
        return [[(row, name) for name in row.names] for row in self.boxes]

    @property
    def on_bar(self):
        return self.boxes[0]

    @property
    def on_flat(self):
        return self.boxes[1]

    def _opposite(self):
        """Whether the bar was read at opposite positions, so that its run-out drops out."""
        read = [self.on_bar.read(name) is not None for name in self.on_bar.names]
        return read in ([True] * 4, [True, False] * 2, [False, True] * 2)

    @property
    def missing(self):
        missing = []
        if not self._opposite():
            missing.append("the bar at two opposite turns or at all four")
        if all(self.on_flat.read(name) is None for name in self.on_flat.names):
            missing.append("a reading on the flat")
        if not self._diameter():
            missing.append("the bar's diameter")
        return missing

    def _diameter(self):
        diameter = self.form.cleaned_data.get("diameter")
        return diameter and diameter.value_um > 0

    def _first_missing(self):
        if not self._opposite():
            return self.on_bar, "at0", "Run-out only drops out over opposite turns."
        if not self._diameter():
            return None, "diameter", "Type the bar's diameter; it is above zero."
        return self.on_flat, "at1", "Read the flat once at least."

    def sweeps(self):
        bar = zip(self.on_bar.names, BAR_ANGLES, strict=True)
        flat = zip(self.on_flat.names, FLAT_PLACES, strict=True)
        on_bar = [_typed(self.on_bar.read(name), float(angle), 0) for name, angle in bar]
        on_flat = [_typed(self.on_flat.read(name), 0.0, place) for name, place in flat]
        return [
            self._taken(BOSS, filter(None, on_bar)),
            self._taken(FLAT, filter(None, on_flat), diameter_um=None, diameter_typed=""),
        ]


def _typed(reading, angle_deg, place):
    """A reading of a box, None where it was left empty."""
    if reading is None:
        return None
    return TypedReading(angle_deg, reading.typed, reading.unit, reading.value_um, place)


def rows_sent(data):
    """How many positions a browser sent."""
    text = data.get("rows", "")
    wanted = int(text) if text.isdecimal() and len(text) < 4 else ROWS_AT_FIRST
    return min(max(wanted, FEWEST_POSITIONS), MOST_ROWS)


def redrawn_rows(data, wish):
    """What was sent with more positions or with its figures in another unit."""
    kind, _, wanted = wish.partition(":")
    again = dict(data)
    if kind == "rows":
        again["rows"] = f"{min(rows_sent(data) + 1, MOST_ROWS)}"
    elif kind == "unit" and wanted in dict(UNITS):
        for name in ("reading_u", "form", "bar_error", "diameter"):
            if again.get(name) and again.get("unit") in UNIT_SYMBOLS:
                again[name] = as_typed(again[name], again["unit"])
        if again.get("unit") in UNIT_SYMBOLS:
            again["counts_in"] = again.get("counts_in") or again["unit"]
            for name in ("length", *(name for name in again if name.endswith("-z"))):
                again[name] = along_as_typed(again.get(name, ""), again["unit"], wanted)
        again["unit"] = wanted
    return again


def fresh_rows(settings, last):
    """Empty rows of a surface, at the positions of the check `last`; what it says of the bar
    comes with it."""
    data = {**settings, "entry_id": f"{uuid.uuid4()}", "side": Sweep.Side.FRONT, "bar_error": ""}
    sweeps = list(last.sweeps.all()) if last else []
    if not sweeps:
        return data
    places = [r.z_mm for r in sweeps[0].readings.all() if r.z_mm is not None]
    data |= {"side": _side_of(last, sweeps)}
    data |= {"bar_error": sweeps[0].bar_error_typed, "diameter": sweeps[0].diameter_typed}
    data |= {"rows": f"{max(len(places), FEWEST_POSITIONS)}"} if places else {}
    return data | {f"row{n}-z": along_text(z, settings["unit"]) for n, z in enumerate(places)}


def _side_of(check, sweeps):
    """The side a bar was read at; an old entry's as the dial's view has it, told in the frame."""
    front = check.item.view.front_at
    told = {
        Sweep.Side.RIGHT: Sweep.Side.FRONT if front == RIGHT else Sweep.Side.REAR,
        Sweep.Side.LEFT: Sweep.Side.FRONT if front == LEFT else Sweep.Side.REAR,
    }
    sides = [told.get(sweep.side, sweep.side) for sweep in sweeps]
    return next((side for side in sides if side in told.values()), Sweep.Side.FRONT)


def stored_rows(check):
    """The readings of a stored check as a browser would send them, to be put right."""
    data = {}
    for sweep in check.sweeps.all():
        for reading in sweep.readings.all():
            data[_box_of(sweep, reading)] = as_typed(reading.typed, reading.unit)
    return data


def _box_of(sweep, reading):
    if sweep.surface == BAR:
        column = "top" if sweep.side == Sweep.Side.TOP else "side"
        return f"row{reading.place - 1}-{column}{'_turned' if sweep.turned else ''}"
    if sweep.surface == FLAT:
        return f"flat-at{reading.place}"
    return f"bar-at{reading.angle_deg:g}"
