"""Fields for what people type at the machine: lengths, angles, photos."""

import math
import re
from decimal import Decimal

from django import forms
from django.core.exceptions import ValidationError

from machines.register.photos import clean_photo
from shop.lengths import (
    COUNTS,
    LONGEST_TEXT,
    LONGEST_UM,
    format_length,
    parse_length,
    read_length,
)

from .formatting import as_typed

ANGLE = re.compile(r"\+?(\d{1,3}(?:[.,]\d+)?|[.,]\d+)\s*(?:°|deg)?")
# Phones capitalise, correct and remember what is typed into a text box; a reading wants none of it.
# An angle is digits alone, so a phone shows its number pad; a length may be minus or "5 tenths",
# and not every phone's number pad has the minus sign.
PLAIN_TYPING = {"autocomplete": "off", "autocapitalize": "off", "spellcheck": "false"}


class LengthField(forms.CharField):
    """A length as people type it; cleans to a `TypedLength`, or None when left empty.

    unit: "in", "mm" or "um", what a bare number means; it stands beside the box.
    lowest_um, longest_um: how small and how long it may be.
    """

    def __init__(self, *, unit="mm", longest_um=LONGEST_UM, lowest_um=None, **kwargs):
        kwargs.setdefault("max_length", LONGEST_TEXT)
        kwargs.setdefault("widget", forms.TextInput(attrs=PLAIN_TYPING))
        super().__init__(**kwargs)
        self.longest_um, self.lowest_um = longest_um, lowest_um
        self.division = None
        self.take_unit(unit)

    def take_unit(self, unit):
        """Let a bare number mean `unit`, one of the `COUNTS`."""
        self.length_unit = unit
        self.unit = COUNTS[unit]

    def clean(self, value):
        text = super().clean(value)
        if not text:
            return None
        try:
            typed = read_length(
                text, self.length_unit, longest_um=self.longest_um, division=self.division
            )
        except ValueError as error:
            raise ValidationError(str(error)) from error
        if self.lowest_um is not None and typed.value_um < self.lowest_um:
            raise ValidationError(f"{text} is below zero; expected zero or more.")
        return typed


def value_of(typed):
    """The micrometres of a cleaned `LengthField`, zero where it was left empty."""
    return typed.value_um if typed else Decimal(0)


def text_of(typed):
    """What was typed into a cleaned `LengthField`."""
    return typed.typed if typed else ""


class AngleField(forms.CharField):
    """Degrees as people type them; cleans to a float, or None when left empty."""

    unit = "°"

    def __init__(self, *, most=360.0, **kwargs):
        kwargs.setdefault("max_length", 12)
        kwargs.setdefault("widget", forms.TextInput(attrs=PLAIN_TYPING | {"inputmode": "decimal"}))
        super().__init__(**kwargs)
        self.most = most

    def clean(self, value):
        text = super().clean(value)
        if not text:
            return None
        matched = ANGLE.fullmatch(text.casefold())
        degrees = float(matched[1].replace(",", ".")) if matched else math.nan
        if not 0 <= degrees <= self.most:
            raise ValidationError(
                f"{text!r} is not an angle here; expected degrees from 0 to {self.most:g}, "
                "such as 45."
            )
        return degrees


def along_unit(unit):
    """The unit of lengths along the machine beside readings in `unit`: inches or millimetres."""
    return "in" if unit == "in" else "mm"


def along_text(value_mm, unit):
    """A length along the machine, in mm, as text that reads back to it in `along_unit(unit)`."""
    if value_mm is None:
        return ""
    value_um = Decimal(f"{float(value_mm):.4f}") * 1000
    text = format_length(value_um, along_unit(unit))
    if parse_length(text, along_unit(unit)) == value_um:
        return text
    return format_length(value_um, "mm", with_unit=True)


def along_as_typed(typed, old, new):
    """A length along the machine as typed beside readings in `old`, to stand beside those in
    `new`: with the unit it was taken in where a bare number would mean another one there."""
    if not typed.strip() or along_unit(old) == along_unit(new):
        return typed
    return as_typed(typed, along_unit(old))


class MillimetreField(LengthField):
    """A length along the machine as people type it; cleans to mm, or None when left empty.

    A bare number is in inches for who works in inches, else in mm.
    """

    def __init__(self, *, lowest_mm=None, longest_mm=2000, **kwargs):
        lowest_um = None if lowest_mm is None else lowest_mm * 1000
        super().__init__(
            unit="mm", longest_um=Decimal(longest_mm) * 1000, lowest_um=lowest_um, **kwargs
        )

    def take_unit(self, unit):
        """Let a bare number mean inches beside readings in inches, else millimetres."""
        super().take_unit(along_unit(unit))

    def clean(self, value):
        typed = super().clean(value)
        return None if typed is None else round(typed.value_um / 1000, 4)


class SmallNumberField(forms.CharField):
    """A number from zero on that is no length; cleans to a float, or None when left empty."""

    def __init__(self, *, most, unit, **kwargs):
        kwargs.setdefault("max_length", 12)
        kwargs.setdefault("widget", forms.TextInput(attrs=PLAIN_TYPING))
        super().__init__(**kwargs)
        self.most, self.unit = most, unit

    def clean(self, value):
        text = super().clean(value)
        if not text:
            return None
        try:
            number = float(text.replace(",", "."))
        except ValueError:
            number = math.nan
        if not 0 <= number <= self.most:
            raise ValidationError(
                f"{text!r} does not fit here; expected a number from 0 to {self.most:g} "
                f"{self.unit}."
            )
        return number


class PhotosInput(forms.FileInput):
    allow_multiple_selected = True


class PhotosField(forms.FileField):
    """Any number of photos; cleans to a list of files fit to be stored."""

    widget = PhotosInput(attrs={"accept": "image/jpeg,image/png,image/webp,image/*"})

    def __init__(self, *, most, **kwargs):
        super().__init__(**kwargs)
        self.most = most

    def clean(self, data, initial=None):
        uploads = [upload for upload in data or [] if upload]
        if len(uploads) > self.most:
            raise ValidationError(f"{len(uploads)} photos are too many; at most {self.most}.")
        return [clean_photo(super(PhotosField, self).clean(upload)) for upload in uploads]
