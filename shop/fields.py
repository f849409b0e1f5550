"""Form fields that several apps use."""

from datetime import UTC, datetime, timedelta

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from .wording import time_text

# A phone's clock and the server's are never quite the same.
CLOCKS_DIFFER = timedelta(minutes=2)
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
        moment = typed if timezone.is_aware(typed) else self._in_zone(typed)
        now = timezone.now()
        if now < moment <= now + CLOCKS_DIFFER:
            return now
        if moment > now:
            raise ValidationError(
                f"{time_text(moment, self.zone)} lies in the future; expected when it happened."
            )
        return moment

    def _in_zone(self, typed):
        """The first of the two moments where clocks are put back, none where put forward."""
        moment = typed.replace(tzinfo=self.zone).astimezone(UTC)
        if moment.astimezone(self.zone).replace(tzinfo=None) != typed:
            raise ValidationError(
                f"There was no {typed:%H:%M} on that day: the clocks were put forward."
            )
        return moment


class DayField(forms.DateField):
    """A day, picked or typed."""

    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
