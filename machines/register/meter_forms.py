"""What people type about meters, checked."""

from django import forms
from django.utils import timezone

from shop.people.models import Shop
from shop.web.fields import ShopTimeField
from shop.web.forms import EntryForm

from .models import Machine, MeterReading
from .readings_list import read_list

LARGEST_FILE = 1024 * 1024


class MeterReadingForm(EntryForm):
    """What a meter of a machine shows."""

    kind = forms.ChoiceField(label="Meter", choices=MeterReading.Kind)
    value = forms.DecimalField(
        label="It shows", min_value=0, max_digits=12, decimal_places=1, localize=False
    )
    read_at = ShopTimeField(label="Read when")
    new_meter = forms.BooleanField(
        label="First reading of a new meter",
        required=False,
        help_text="Tick this when the meter was replaced or set back. What the old one counted "
        "after its last reading is not known and not added.",
    )

    def __init__(self, *args, zone, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["read_at"].zone = zone


class LeaveOutForm(forms.Form):
    """Why a reading does not count."""

    why = forms.CharField(
        label="Why it does not count",
        max_length=120,
        help_text="The reading stays on record with this beside it.",
    )


class BringInForm(forms.Form):
    """A list of readings, as a file or typed."""

    shop = forms.ModelChoiceField(queryset=Shop.objects.none())
    file = forms.FileField(label="File", required=False, help_text="A CSV file of up to 1 MB.")
    text = forms.CharField(
        label="Or the lines themselves",
        required=False,
        max_length=LARGEST_FILE,
        widget=forms.Textarea(attrs={"rows": 6, "spellcheck": "false"}),
    )

    def __init__(self, *args, shops, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["shop"].queryset = shops
        if shops.count() == 1:
            self.fields["shop"].initial = shops.get()
            self.fields["shop"].widget = forms.HiddenInput()

    def clean_file(self):
        """The text of the file."""
        file = self.cleaned_data["file"]
        if file is None:
            return ""
        if file.size > LARGEST_FILE:
            raise forms.ValidationError("This file is over 1 MB; import it in parts.")
        try:
            return file.read().decode("utf-8-sig")
        except UnicodeDecodeError as error:
            raise forms.ValidationError(
                "This is no text file in UTF-8. Save the sheet as CSV (UTF-8) and choose that."
            ) from error

    def clean(self):
        given = super().clean()
        given["text"] = given.get("file") or given.get("text", "")
        if "file" not in given or "shop" not in given:
            return given
        if not given["text"].strip():
            self.add_error("file", "Choose a file, or type the lines below.")
            return given
        shop = given["shop"]
        machines = {machine.number: machine for machine in Machine.objects.filter(shop=shop)}
        try:
            given["rows"] = read_list(given["text"], machines, shop.zone, timezone.now())
        except ValueError as error:
            self.add_error("file" if given["file"] else "text", str(error))
        return given
