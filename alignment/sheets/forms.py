"""Acceptance sheets as they are typed, brought in as a list, and scanned."""

from django import forms

from shop.web.fields import DayField
from shop.web.forms import EntryForm
from shop.web.list_forms import ListForm

from .layouts import UNITS
from .models import AcceptanceSheet
from .scans import clean_scan
from .sheetlist import read_sheet


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


class SheetListForm(SheetForm, ListForm):
    """A sheet as a list of its lines."""

    READ_WITH = ("unit",)

    unit = forms.ChoiceField(
        label="A number without a unit is in",
        choices=UNITS,
        widget=forms.RadioSelect(attrs={"class": "row"}),
        help_text="A sheet exported from this site as CSV is in µm.",
    )
    make_stations = forms.BooleanField(
        label="Add stations that the machine does not have",
        required=False,
        help_text="Otherwise a name that none of its stations has is refused.",
    )

    def __init__(self, *args, machine, **kwargs):
        super().__init__(*args, **kwargs)
        self.machine = machine

    def read(self, given):
        stations = self.machine.stations.current()
        made = given["make_stations"]
        return read_sheet(given["text"], stations, given["unit"], make_stations=made)


class ScanForm(EntryForm):
    """A scan of the paper."""

    scan = forms.FileField(
        label="Scan",
        help_text="A PDF, or a photo of the sheet lying flat (JPEG, PNG, WebP).",
        widget=forms.FileInput(attrs={"accept": "application/pdf,image/*"}),
    )

    def clean_scan(self):
        return clean_scan(self.cleaned_data["scan"])
