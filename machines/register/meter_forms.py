"""What people type about meters, checked."""

from django import forms
from django.utils import timezone

from shop.people.models import Shop
from shop.web.fields import ShopTimeField
from shop.web.forms import EntryForm
from shop.web.list_forms import ListForm

from .models import Machine, MeterReading
from .readings_list import read_list


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


class ReadingListForm(ListForm):
    """A list of readings."""

    READ_WITH = ("shop",)

    shop = forms.ModelChoiceField(queryset=Shop.objects.none())

    def __init__(self, *args, shops, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["shop"].queryset = shops
        if shops.count() == 1:
            self.fields["shop"].initial = shops.get()
            self.fields["shop"].widget = forms.HiddenInput()

    def read(self, given):
        shop = given["shop"]
        machines = {machine.number: machine for machine in Machine.objects.filter(shop=shop)}
        return read_list(given["text"], machines, shop.zone, timezone.now())
