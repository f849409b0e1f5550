"""Forms that release a machine, follow an incident up and tick its check list."""

from django import forms

from machines.register.fields import LONGEST_NOTE
from shop.web.forms import EntryForm


class ReleaseForm(forms.Form):
    """Why a stopped machine may run again."""

    reason = forms.CharField(
        label="Why it may run again",
        max_length=200,
        help_text="It stands in the machine's history, with your name.",
    )


class FollowUpForm(EntryForm):
    """What somebody who looked at an incident found, and whether that closes it."""

    found = forms.CharField(
        label="What was found",
        required=False,
        max_length=LONGEST_NOTE,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Needed to close it.",
    )


class CheckLineForm(forms.Form):
    """What was found at one line of a visit's check list."""

    found = forms.CharField(label="What was found", required=False, max_length=200)
