"""What the operator says of a crash or a noise, tapped at the machine with gloves on."""

from decimal import Decimal

from django import forms
from django.utils import timezone
from django.utils.text import capfirst

from alignment.geometry.adjust.chain import station_path
from alignment.sheets.fields import LengthField, PhotosField
from alignment.sheets.formatting import as_typed
from machines.incidents.models import Incident
from shop.web.fields import ShopTimeField
from shop.web.forms import EntryForm

MOST_PHOTOS = 8
# What a crash leaves is seen on an indicator or felt with a rule, so a tenth of a metre is a slip.
LONGEST_OFFSET_UM = Decimal(100_000)

MAY_RUN = [("no", "Stopped until looked at"), ("yes", "It may run")]


def _text(name, **extra):
    """A model's text field as a form field, with its label, help and longest text."""
    return Incident._meta.get_field(name).formfield(**extra)


def _capitalised(choices):
    """Choices as they stand on tiles of their own."""
    return [(value, capfirst(label)) for value, label in choices.choices]


TILES = {"class": "tiles"}
ROW = {"class": "row"}
SIGNS = {Incident.Direction.MINUS: "−", Incident.Direction.PLUS: "+"}


class IncidentForm(EntryForm):
    """What happened, where, which way, how hard, and whether the machine may run; words last."""

    kind = forms.ChoiceField(
        label="What happened?",
        choices=_capitalised(Incident.Kind),
        widget=forms.RadioSelect(attrs=TILES),
        error_messages={"required": "Tap what happened."},
    )
    stations = forms.ModelMultipleChoiceField(
        queryset=None,
        required=False,
        label="Where?",
        widget=forms.CheckboxSelectMultiple(attrs=TILES),
    )
    movement = forms.ChoiceField(
        label="Which axis moved, and which way?",
        required=False,
        widget=forms.RadioSelect(attrs=ROW),
    )
    severity = forms.ChoiceField(
        label="How hard?",
        required=False,
        choices=_capitalised(Incident.Severity),
        widget=forms.RadioSelect(attrs=TILES),
    )
    may_run = forms.TypedChoiceField(
        label="May the machine run?",
        choices=MAY_RUN,
        coerce="yes".__eq__,
        widget=forms.RadioSelect(attrs=TILES),
        error_messages={"required": "Say whether the machine may run or is stopped."},
    )
    photos = PhotosField(required=False, label="Photos", most=MOST_PHOTOS)
    offset_seen = LengthField(
        required=False,
        label="Offset seen afterwards",
        longest_um=LONGEST_OFFSET_UM,
        max_length=32,
        help_text="If an indicator was put on it. Type it as you read it: .005, 5 thou, 0.12 mm.",
    )
    happened_at = ShopTimeField(label="When it happened")
    what_hit = _text("what_hit")
    hit_what = _text("hit_what")
    broken = _text("broken")
    note = _text("note", widget=forms.Textarea(attrs={"rows": 4}))

    def __init__(self, *args, machine, unit, **kwargs):
        super().__init__(*args, **kwargs)
        when = self.fields["happened_at"]
        when.zone = machine.shop.zone
        when.initial = timezone.now
        when.help_text = f"In the shop's time, {machine.shop.time_zone}."
        self.fields["stations"].queryset = machine.stations.current().select_related("datum")
        self.fields["movement"].choices = _movements(machine)
        self.fields["offset_seen"].take_unit(unit)

    def schematic(self):
        """The chain to tap in checking order: (tick box, station, datums before it)."""
        boxes = [(box, box.data["value"].instance) for box in self["stations"]]
        datums = {station.pk: station.datum_id for _box, station in boxes}
        return [(box, station, len(station_path(datums, station.pk)) - 1) for box, station in boxes]

    def boxes(self):
        """Station key to the id of its tick box, for the picture of the machine."""
        return {station.pk: box.id_for_label for box, station, _depth in self.schematic()}

    def account(self):
        """The cleaned entry as `log_incident_at` takes it."""
        account = dict(self.cleaned_data)
        account["axis"], _, account["direction"] = account.pop("movement").rpartition(":")
        seen = account.pop("offset_seen")
        account["offset_seen_um"] = seen and seen.value_um
        account["offset_seen_typed"] = as_typed(seen.typed, seen.unit) if seen else ""
        return account


def _movements(machine):
    """Each of the machine's axes towards minus and towards plus."""
    return [
        (f"{axis.name}:{direction}", f"{axis.name} {sign}")
        for axis in machine.axes.all()
        for direction, sign in SIGNS.items()
    ]
