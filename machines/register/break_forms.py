"""Why and from which day a machine is out of service, or in service again."""

from django import forms

from shop.web.fields import DayField
from shop.web.forms import EntryForm
from shop.web.wording import day_text


class BreakForm(EntryForm):
    """A day up to today in the shop's zone, and a reason."""

    day = DayField(error_messages={"invalid": "This is not a day; expected such as 2025-03-05."})
    reason = forms.CharField(
        max_length=200, help_text="It stands in the machine's history, with your name."
    )

    def __init__(self, *args, machine, day_label, reason_label, **kwargs):
        self.today = machine.shop.today
        super().__init__(*args, initial={"day": self.today}, **kwargs)
        self.fields["day"].label = day_label
        self.fields["reason"].label = reason_label

    def clean_day(self):
        day = self.cleaned_data["day"]
        if day > self.today:
            raise forms.ValidationError(
                f"{day_text(day)} is to come; expected today or an earlier day."
            )
        return day
