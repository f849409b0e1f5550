"""The lines of an acceptance sheet as they are typed, and what a fresh page of them starts with."""

from dataclasses import replace

from django import forms
from django.core.exceptions import ValidationError
from django.forms import BaseFormSet, formset_factory

from machines.register.models import Station
from shop.lengths import format_length

from .fields import LengthField, MillimetreField, along_text, value_of
from .lines import LONGEST_LIMIT_UM, TWICE_BELOW, SheetLine, both_ways, exact_text
from .models import AcceptanceItem
from .sheetlist import MOST_LINES
from .stations import guessed

PREFIX = "lines"
MORE_LINES = 3
LENGTHS = ("lower", "upper", "factory", "nominal")
ALONG = ("per", "at")
TEXTS = ("name", *LENGTHS, *ALONG, "new_station")


class UpperLimitField(LengthField):
    """An upper limit; one behind a ± is both limits, which what was typed then says."""

    def clean(self, value):
        one_way = both_ways(value or "")
        if one_way is None:
            return super().clean(value)
        typed = super().clean(one_way)
        return typed and replace(typed, typed=value)


def _limit(label, **more):
    return LengthField(required=False, label=label, longest_um=LONGEST_LIMIT_UM, **more)


class LineForm(forms.Form):
    """One line as it is typed; left empty it is passed over."""

    station = forms.ModelChoiceField(queryset=None, required=False, empty_label=None)
    new_station = Station._meta.get_field("name").formfield(
        required=False,
        label="Or a station not on record yet",
        help_text="Typed, it is put on the machine with this sheet.",
    )
    name = AcceptanceItem._meta.get_field("name").formfield(required=False)
    quantity = forms.ChoiceField(label="Figure", choices=AcceptanceItem.Quantity)
    surface = forms.ChoiceField(label="Swept", choices=AcceptanceItem.Surface)
    lower = _limit("Lower limit")
    upper = UpperLimitField(
        required=False,
        label="Upper limit",
        longest_um=LONGEST_LIMIT_UM,
        help_text="± sets both.",
    )
    factory = _limit("Factory's own figure")
    per = MillimetreField(required=False, label="A tilt is stated per")
    at = MillimetreField(
        required=False,
        label="An offset is asked for at",
        help_text="Where along the axis, if several planes are swept.",
    )
    nominal = _limit("A flat stands from the axis by")

    def __init__(self, *args, machine, unit, **kwargs):
        super().__init__(*args, **kwargs)
        self.machine = machine
        self.fields["station"].queryset = machine.stations.current()
        for name in LENGTHS:
            self.fields[name].take_unit(unit)
        for name in ALONG:
            self.fields[name].take_unit(unit)
        if not self.fields["station"].queryset:
            del self.fields["station"]

    @property
    def starts_blank(self):
        """Whether nothing stood in it when it was drawn, as in the lines at the end."""
        return not self.initial.get("name")

    @property
    def is_blank(self):
        """Whether nothing but the choices that stand there anyway was made."""
        return not any((self[name].value() or "").strip() for name in TEXTS)

    def clean(self):
        cleaned = super().clean()
        if self.is_blank or self.errors:
            return cleaned
        if not cleaned.get("name"):
            self.add_error("name", "Say what is measured.")
        elif not (station := self._station(cleaned)):
            self.add_error(
                "station" if "station" in self.fields else "new_station", "Say at which station."
            )
        else:
            self._take(cleaned, station)
        return cleaned

    def _station(self, cleaned):
        """The station chosen, or the one that was typed, not saved where it is a new one."""
        typed = (cleaned.get("new_station") or "").strip()
        if not typed:
            return cleaned.get("station")
        there = self.machine.stations.current().filter(name__iexact=typed).first()
        return there or guessed(typed)

    def _take(self, cleaned, station):
        upper = cleaned["upper"]
        if upper and both_ways(upper.typed):
            if cleaned["lower"]:
                self.add_error("lower", TWICE_BELOW)
                return
            cleaned["lower"] = replace(upper, value_um=-upper.value_um)
        self.line = SheetLine(
            station=station,
            name=cleaned["name"],
            quantity=cleaned["quantity"],
            surface=cleaned["surface"],
            per_mm=cleaned["per"],
            at_mm=cleaned["at"],
            **{
                f"{name}_um": value_of(cleaned[name]) if cleaned[name] else None for name in LENGTHS
            },
        )
        try:
            self.line.refuse_if_wrong()
        except ValueError as error:
            self.add_error("upper", str(error))


class _LineFormSet(BaseFormSet):
    """The lines of a sheet as they are typed."""

    def __init__(self, *args, machine, unit, **kwargs):
        kwargs["form_kwargs"] = {"machine": machine, "unit": unit}
        super().__init__(*args, prefix=PREFIX, **kwargs)

    def clean(self):
        if any(self.errors):
            return
        if not self.lines:
            raise ValidationError("Type at least one line.")
        seen = set()
        for form in self.forms:
            if form.is_blank:
                continue
            if form.line.key in seen:
                form.add_error("name", "This stands on the sheet already.")
            seen.add(form.line.key)

    @property
    def lines(self):
        return [form.line for form in self.forms if not form.is_blank]


LineFormSet = formset_factory(
    LineForm, formset=_LineFormSet, extra=0, max_num=MOST_LINES, absolute_max=MOST_LINES
)


def first_lines(machine, copied, unit, left=None):
    """What a fresh page's lines start with: those of a sheet, or one for each station, or three
    where there is none.

    left: {pk of an item: the figure it was left with, in µm}, told in place of the factory's.
    """
    if copied is None:
        lines = [{"station": station.pk} for station in machine.stations.current()]
        return lines or [{} for _ in range(MORE_LINES)]
    lines = _lines_of(copied, unit)
    for line in lines if left is not None else ():
        figure = left.get(line["item"])
        line["factory"] = "" if figure is None else format_length(figure, unit)
    return lines


def _lines_of(sheet, unit):
    items = sheet.items.filter(station__ended_on=None).select_related("station")
    return [
        {
            "item": item.pk,
            "station": item.station_id,
            "name": item.name,
            "quantity": item.quantity,
            "surface": item.surface,
            "per": along_text(item.per_mm, unit) if item.is_tilt else "",
            "at": along_text(item.at_mm, unit),
            "nominal": exact_text(item.nominal_um or None, unit),
            **{
                part: exact_text(getattr(item, f"{part}_um"), unit)
                for part in ("lower", "upper", "factory")
            },
        }
        for item in items
    ]


def with_more_lines(data):
    """What was sent, with room for more lines."""
    data = data.copy()
    total = data.get(f"{PREFIX}-TOTAL_FORMS", "")
    count = int(total) if total.isdecimal() and len(total) < 4 else 0
    data[f"{PREFIX}-TOTAL_FORMS"] = str(min(count + MORE_LINES, MOST_LINES))
    return data
