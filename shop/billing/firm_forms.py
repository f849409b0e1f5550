"""Forms of a firm, one for each part of the page *Firm*."""

from django import forms
from django.core.files.uploadedfile import UploadedFile

from shop.people.models import Firm
from shop.people.region_forms import CountryField, CurrencyField, UnitField, ZoneField
from shop.web.images import as_file, picture_of

from .number_series import SERIES, last_numbers

LONGEST_LOGO_SIDE_PX = 1200
HIGHEST_NUMBER = 999_999


def _rows(*names, rows=3):
    return {name: forms.Textarea(attrs={"rows": rows}) for name in names}


class LetterheadForm(forms.ModelForm):
    """What stands at the top of the firm's documents."""

    class Meta:
        model = Firm
        fields = ["name", "address", "phone", "email", "logo", "tax_number"]
        widgets = _rows("address")
        error_messages = {
            "logo": {"invalid_image": "That is not an image; expected JPEG, PNG or WebP."}
        }

    def clean_logo(self):
        """A new logo made anew as a PNG; the one there is, and none, stay as they are."""
        logo = self.cleaned_data["logo"]
        if not isinstance(logo, UploadedFile):
            return logo
        picture = picture_of(logo, longest_side_px=LONGEST_LOGO_SIDE_PX, mode="RGBA")
        return as_file(picture, "PNG", "logo.png")


class TermsForm(forms.ModelForm):
    """How the firm charges and is paid."""

    currency = CurrencyField(help_text=Firm._meta.get_field("currency").help_text)

    class Meta:
        model = Firm
        fields = [
            "currency",
            "payment_days",
            "payment_note",
            "parts_markup_percent",
            "normal_day_h",
        ]
        widgets = _rows("payment_note")


class TextsForm(forms.ModelForm):
    """What stands at the end of the firm's documents."""

    class Meta:
        model = Firm
        fields = ["report_text", "quote_text", "statement_text"]
        widgets = _rows(*fields, rows=4)


class RegionForm(forms.ModelForm):
    """Where the firm is and how it writes; new customers begin with its unit and time zone."""

    country = CountryField(required=False)
    time_zone = ZoneField()
    length_unit = UnitField()

    class Meta:
        model = Firm
        fields = [
            "country",
            "time_zone",
            "length_unit",
            "paper_size",
            "date_form",
            "week_starts_on",
        ]


class NumbersForm(forms.Form):
    """The next number of each series of the year; it only counts on."""

    def __init__(self, *args, firm, **kwargs):
        super().__init__(*args, **kwargs)
        self.last = last_numbers(firm, firm.today.year)
        for series in SERIES:
            first = self.last[series.kind] + 1
            self.fields[series.field] = forms.IntegerField(
                label=f"Next number of {series.what}",
                initial=first,
                min_value=first,
                max_value=HIGHEST_NUMBER,
                error_messages={
                    "min_value": "%(limit_value)s is the next one; a number is given out once."
                },
            )

    def wanted(self):
        """Kind of series to the number that is to be its last one given out."""
        return {one.kind: self.cleaned_data[one.field] - 1 for one in SERIES}
