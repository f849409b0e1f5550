"""The operator's account of a crash, typed at the machine with gloves on."""

from decimal import Decimal

from django import forms
from django.utils import timezone

from alignment.shown import as_typed
from machines.models import Incident
from shop.forms import EntryForm

from .fields import LengthField, PhotosField, ShopTimeField

MOST_PHOTOS = 8
# What a crash leaves is seen on an indicator or felt with a rule, so a tenth of a metre is a slip.
LONGEST_OFFSET_UM = Decimal(100_000)

MAY_RUN = [("no", "Stopped until looked at"), ("yes", "It may run")]


def _text(name, **extra):
    """A model's text field as a form field, with its label, help and longest text."""
    return Incident._meta.get_field(name).formfield(**extra)


class IncidentForm(EntryForm):
    """What hit what, how hard, what was seen afterwards, and whether the machine may run."""

    what_hit = _text("what_hit")
    hit_what = _text("hit_what")
    stations = forms.ModelMultipleChoiceField(
        queryset=None,
        required=False,
        label="Stations hit",
        widget=forms.CheckboxSelectMultiple(attrs={"class": "tiles"}),
    )
    severity = forms.ChoiceField(
        label="How hard",
        choices=Incident.Severity.choices,
        widget=forms.RadioSelect(attrs={"class": "tiles"}),
    )
    offset_seen = LengthField(
        required=False,
        label="Offset seen afterwards",
        longest_um=LONGEST_OFFSET_UM,
        max_length=32,
        help_text="If an indicator was put on it. Type it as you read it.",
    )
    broken = _text("broken")
    happened_at = ShopTimeField(label="When it happened")
    may_run = forms.TypedChoiceField(
        label="May the machine run?",
        choices=MAY_RUN,
        coerce="yes".__eq__,
        widget=forms.RadioSelect(attrs={"class": "tiles"}),
        error_messages={"required": "Say whether the machine may run or is stopped."},
    )
    photos = PhotosField(required=False, label="Photos", most=MOST_PHOTOS)
    note = _text("note", widget=forms.Textarea(attrs={"rows": 4}))

    def __init__(self, *args, machine, unit, **kwargs):
        super().__init__(*args, **kwargs)
        when = self.fields["happened_at"]
        when.zone = machine.shop.zone
        when.initial = timezone.now
        when.help_text = f"In the shop's time, {machine.shop.time_zone}."
        self.fields["stations"].queryset = machine.stations.all()
        self.fields["offset_seen"].take_unit(unit)

    def account(self):
        """The cleaned entry as `log_incident_at` takes it."""
        account = dict(self.cleaned_data)
        seen = account.pop("offset_seen")
        account["offset_seen_um"] = seen and seen.value_um
        account["offset_seen_typed"] = as_typed(seen.typed, seen.unit) if seen else ""
        return account
