"""Forms of the register."""

from django import forms
from django.conf import settings

from shop.web.site_key import typed_key


class TakeOverForm(forms.Form):
    """The record of a machine that another shop handed over."""

    file = forms.FileField(label="The file that the other shop took out")
    number = forms.CharField(
        label="Its number here",
        max_length=20,
        required=False,
        help_text="Empty: what it was called there.",
    )

    key = forms.CharField(
        label="Public key of the site it comes from",
        max_length=120,
        required=False,
        help_text="As that site shows it where the file is taken out. Have it told to you, not "
        "sent along: with it the record stands here as proved. Within one site leave it empty.",
    )

    def clean_key(self):
        typed = self.cleaned_data["key"]
        try:
            return typed and typed_key(typed)
        except ValueError as error:
            words = "That is no public key; expected 64 digits and letters from a to f."
            raise forms.ValidationError(words) from error

    def clean_file(self):
        file = self.cleaned_data["file"]
        if file.size > settings.MAX_HANDOVER_BYTES:
            raise forms.ValidationError(
                f"The file is {file.size / 1e6:.0f} MB; at most "
                f"{settings.MAX_HANDOVER_BYTES / 1e6:.0f} MB are taken."
            )
        return file
