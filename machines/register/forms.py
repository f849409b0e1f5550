"""Forms of the register."""

from django import forms
from django.conf import settings


class TakeOverForm(forms.Form):
    """The record of a machine that another shop handed over."""

    file = forms.FileField(label="The file that the other shop took out")
    number = forms.CharField(
        label="Its number here",
        max_length=20,
        required=False,
        help_text="Empty: what it was called there.",
    )

    def clean_file(self):
        file = self.cleaned_data["file"]
        if file.size > settings.MAX_HANDOVER_BYTES:
            raise forms.ValidationError(
                f"The file is {file.size / 1e6:.0f} MB; at most "
                f"{settings.MAX_HANDOVER_BYTES / 1e6:.0f} MB are taken."
            )
        return file
