"""Form fields that several apps use."""

from datetime import datetime

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from .errors import Refused
from .moments import in_zone, passed

# No machine on a floor is older, and nothing is planned for later.
YEARS = range(1900, 2200)


def told_year(moment):
    """Refuse a year that can only be a slip; near the calendar's ends no zone can be reckoned."""
    if moment.year not in YEARS:
        raise ValidationError(
            f"The year {moment.year} cannot be meant; expected one from {YEARS[0]} to {YEARS[-1]}."
        )


class ShopTimeField(forms.Field):
    """A moment that has passed, in the shop's own zone; the form sets `zone`."""

    widget = forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M")
    zone = None

    def prepare_value(self, value):
        if isinstance(value, datetime) and timezone.is_aware(value):
            return value.astimezone(self.zone).replace(tzinfo=None)
        return value

    def to_python(self, value):
        if value in self.empty_values:
            return None
        try:
            typed = parse_datetime(value.strip())
        except ValueError:
            typed = None
        if typed is None:
            raise ValidationError(
                f"{value!r} is not a day and a time; expected such as 2025-03-05 14:20."
            )
        told_year(typed)
        try:
            moment = typed if timezone.is_aware(typed) else in_zone(typed, self.zone)
            return passed(moment, self.zone)
        except Refused as refusal:
            raise ValidationError(str(refusal)) from refusal


class DayField(forms.DateField):
    """A day, picked or typed."""

    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
