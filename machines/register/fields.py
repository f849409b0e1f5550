"""Form fields of the machines app."""

import re
from decimal import Decimal

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import MinValueValidator

from shop.lengths import LONGEST_TEXT, UNIT_SYMBOLS, format_length, parse_length

# NIST SP 811, appendix B.8: 1 lbf is 4.448 221 615 260 5 N exactly.
NEWTONS_PER_LBF = Decimal("4.4482216152605")
FORCE = re.compile(r"(\d+(?:[.,]\d*)?|[.,]\d+)\s*(n|lbf|lb)?", re.IGNORECASE)

ABOVE_ZERO = MinValueValidator(Decimal("0.0001"), "It must be more than zero.")
ZERO_OR_MORE = MinValueValidator(0, "It cannot be negative.")


def measure(label, unit, digits, places, *, validator=ABOVE_ZERO):
    """A box for a measured number, with its unit beside it; anything goes without a validator."""
    field = forms.DecimalField(
        label=label,
        required=False,
        max_digits=digits,
        decimal_places=places,
        widget=forms.NumberInput(attrs={"inputmode": "decimal", "step": "any"}),
        validators=[validator] if validator else [],
    )
    field.unit = unit
    return field


class BoxInUnits(forms.CharField):
    """A box for a measured size in the person's own unit; cleans to a Decimal in the unit it is
    kept in, or None when left empty.

    max_digits, decimal_places: those of the number that is kept; it is rounded to them.
    """

    is_signed = False

    def __init__(self, *, max_digits, decimal_places, **kwargs):
        kwargs.setdefault("max_length", LONGEST_TEXT)
        kwargs.setdefault("widget", forms.TextInput(attrs={"autocomplete": "off"}))
        super().__init__(**kwargs)
        self.limit = Decimal(10) ** (max_digits - decimal_places)
        self.step = Decimal(1).scaleb(-decimal_places)
        self.take_unit("mm")

    def take_unit(self, length_unit):
        """Go by the unit a person's lengths are in: "in" or "mm"."""
        self.length_unit = length_unit
        self.unit = self.unit_for(length_unit)

    def prepare_value(self, value):
        return value if value is None or isinstance(value, str) else self.text_of(Decimal(value))

    def clean(self, value):
        text = (super().clean(value) or "").strip()
        if not text:
            return None
        try:
            kept = self.read(text).quantize(self.step)
        except ValueError as error:
            raise ValidationError(str(error)) from error
        if kept <= 0 and not self.is_signed:
            raise ValidationError("It must be more than zero.")
        if abs(kept) >= self.limit:
            raise ValidationError(f"{text} is far too much here; look at the unit.")
        return kept


class LengthBox(BoxInUnits):
    """A length, kept in mm."""

    def unit_for(self, length_unit):
        return UNIT_SYMBOLS[length_unit]

    def read(self, text):
        return parse_length(text, self.length_unit) / 1000

    def text_of(self, value_mm):
        return format_length((value_mm * 1000).normalize(), self.length_unit)


class PlaceBox(LengthBox):
    """A place along an axis, kept in mm: zero and minus are places, too."""

    is_signed = True


class ForceBox(BoxInUnits):
    """A force, kept in N; a bare number is in lbf for who works in inches."""

    def unit_for(self, length_unit):
        return "lbf" if length_unit == "in" else "N"

    def read(self, text):
        matched = FORCE.fullmatch(text.strip())
        if not matched:
            raise ValueError(f"{text!r} is no force; expected such as 45 N or 10 lbf.")
        number = Decimal(matched[1].replace(",", "."))
        unit = (matched[2] or self.unit).casefold()
        return number if unit == "n" else number * NEWTONS_PER_LBF

    def text_of(self, value_n):
        if self.unit == "N":
            return f"{value_n.normalize():f}"
        return f"{value_n / NEWTONS_PER_LBF:.2f}"


def in_units(form, length_unit):
    """Let the boxes of a form go by the unit a person's lengths are in."""
    for field in form.fields.values():
        if isinstance(field, BoxInUnits):
            field.take_unit(length_unit)


# Long enough for what anybody types at a machine, short enough for a page.
LONGEST_NOTE = 20_000
