"""Acceptance sheets as they are typed, brought in as a list, and scanned."""

from django import forms
from django.core.exceptions import ValidationError

from shop.web.fields import DayField
from shop.web.forms import EntryForm

from .layouts import UNITS
from .models import AcceptanceSheet
from .scans import clean_scan
from .sheetlist import read_sheet

LARGEST_FILE = 1024 * 1024


class SheetForm(EntryForm):
    """What is said of the whole sheet."""

    name = AcceptanceSheet._meta.get_field("name").formfield(label="Name of the sheet")
    dated = DayField(label="Dated", required=False)
    in_force = forms.BooleanField(
        label="Hold the machine against this sheet from now on",
        required=False,
        initial=True,
        help_text="It takes the place of the sheet in force. What was measured before keeps the "
        "limits it was held against.",
    )

    def account(self):
        """The cleaned entry as `enter_sheet` takes it."""
        return {name: self.cleaned_data[name] for name in ("name", "dated", "in_force", "entry_id")}


class SheetListForm(SheetForm):
    """A sheet as a CSV file, or its lines typed."""

    unit = forms.ChoiceField(
        label="A number without a unit is in",
        choices=UNITS,
        widget=forms.RadioSelect(attrs={"class": "row"}),
        help_text="A sheet taken out of this site as CSV is in µm.",
    )
    make_stations = forms.BooleanField(
        label="A station that is not on record is put on the machine",
        required=False,
        help_text="Otherwise a name that none of its stations has is refused.",
    )
    file = forms.FileField(label="File", required=False, help_text="A CSV file of up to 1 MB.")
    text = forms.CharField(
        label="Or the lines themselves",
        required=False,
        strip=False,
        max_length=LARGEST_FILE,
        widget=forms.Textarea(attrs={"rows": 6, "spellcheck": "false"}),
    )

    def __init__(self, *args, machine, **kwargs):
        super().__init__(*args, **kwargs)
        self.machine = machine

    def clean_file(self):
        """The text of the file."""
        file = self.cleaned_data["file"]
        if file is None:
            return ""
        if file.size > LARGEST_FILE:
            raise ValidationError("This file is over 1 MB, far more than a sheet. Choose another.")
        try:
            return file.read().decode("utf-8-sig")
        except UnicodeDecodeError as error:
            raise ValidationError(
                "This is no text file in UTF-8. Save the sheet as CSV (UTF-8) and choose that."
            ) from error

    def clean(self):
        given = super().clean()
        if "file" not in given or "unit" not in given:
            return given
        given["text"] = given["file"] or given.get("text", "")
        if not given["text"].strip():
            self.add_error("file", "Choose a file, or type the lines below.")
            return given
        try:
            given["rows"] = read_sheet(
                given["text"],
                self.machine.stations.current(),
                given["unit"],
                make_stations=given["make_stations"],
            )
        except ValueError as error:
            self.add_error("file" if given["file"] else "text", str(error))
        return given


class ScanForm(EntryForm):
    """A scan of the paper."""

    scan = forms.FileField(
        label="Scan",
        help_text="A PDF, or a photo of the sheet lying flat (JPEG, PNG, WebP).",
        widget=forms.FileInput(attrs={"accept": "application/pdf,image/*"}),
    )

    def clean_scan(self):
        return clean_scan(self.cleaned_data["scan"])
