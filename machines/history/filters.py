"""What a machine's timeline shows: all of it, or what was asked for by kind, day and station."""

from datetime import date, datetime, time, timedelta

from django import forms
from django.core.exceptions import ValidationError

from shop.hooks import from_above, history, history_kinds
from shop.snapshots.pages import standing_now
from shop.web.fields import DayField
from shop.web.wording import day_text

EARLIEST, LATEST = date(1970, 1, 1), date(2200, 12, 31)


def _day(label):
    wrong = "This is not a day; expected such as 2025-03-05."
    return DayField(label=label, required=False, error_messages={"invalid": wrong})


def _stations(machine):
    return [(one.pk, str(one)) for one in from_above("stations")(machine)]


class HistoryFilter(forms.Form):
    """Which events of a machine to show; nothing chosen shows all."""

    kind = forms.ChoiceField(
        required=False,
        error_messages={
            "invalid_choice": "There is no kind of event called %(value)s; choose one of the list."
        },
    )
    station = forms.TypedChoiceField(
        required=False,
        coerce=int,
        empty_value=None,
        error_messages={
            "invalid_choice": "This machine has no such station; choose one of the list."
        },
    )
    first = _day("From")
    last = _day("Until")

    def __init__(self, *args, machine, **kwargs):
        super().__init__(*args, **kwargs)
        self.machine, self.zone = machine, machine.shop.zone
        kinds = [(kind, kind.capitalize()) for kind in history_kinds()]
        self.fields["kind"].choices = [("", "Every kind"), *kinds]
        named = standing_now(machine.shop).keep(lambda: _stations(machine), "stations", machine.pk)
        self.fields["station"].choices = [("", "The whole machine"), *named]

    def clean(self):
        given = super().clean()
        first, last = given.get("first"), given.get("last")
        for name in ("first", "last"):
            if given.get(name) and not EARLIEST <= given[name] <= LATEST:
                self.add_error(name, f"Expected a day from {EARLIEST.year} to {LATEST.year}.")
        if first and last and last < first:
            raise ValidationError(
                {"last": f"This is before {day_text(first)}; expected that day or a later one."}
            )
        return given

    @property
    def any_chosen(self):
        """Whether anything narrows the timeline."""
        return any(self[name].value() for name in self.fields)

    def events(self, *, limit, before=None):
        """The newest events asked for, older than `before`; of a valid form."""
        asked = self.cleaned_data
        return history(
            self.machine,
            limit=limit,
            before=min((m for m in (before, self.until) if m is not None), default=None),
            since=self.since,
            kind=asked["kind"],
            station=asked["station"],
        )

    @property
    def since(self):
        """The first moment asked for, None for the beginning."""
        return self._midnight(self.cleaned_data["first"])

    @property
    def until(self):
        """The moment at which the last day asked for is over, None for today."""
        last = self.cleaned_data["last"]
        return self._midnight(last + timedelta(days=1)) if last else None

    def _midnight(self, day):
        return datetime.combine(day, time.min, tzinfo=self.zone) if day else None
