"""What was done to a station."""

from decimal import Decimal

from django import forms

from alignment.sheets.fields import LengthField
from alignment.sweeps.models import Adjustment
from shop.web.forms import EntryForm

LONGEST_MOVE_UM = Decimal(50_000)


class AdjustmentForm(EntryForm):
    """What was moved, and how far where that was measured."""

    what = Adjustment._meta.get_field("what").formfield(
        help_text="Such as: housing bolts loosened, tapped over with the brass drift, bolted down."
    )
    front = LengthField(
        required=False,
        label="Moved to the front",
        longest_um=LONGEST_MOVE_UM,
        help_text="The operator's side; minus is to the rear.",
    )
    up = LengthField(
        required=False,
        label="Moved up",
        longest_um=LONGEST_MOVE_UM,
        help_text="Minus is down.",
    )

    way = forms.TypedChoiceField(
        required=False,
        label="As planned",
        coerce=int,
        empty_value=None,
        widget=forms.RadioSelect(attrs={"class": "tiles"}),
        help_text="Then the next sweep is held against what was planned.",
    )

    def __init__(self, *args, unit, ways=(), **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["way"].choices = [(way.pk, f"by {way}") for way in ways] + [
            ("", "not as planned here")
        ]
        if not ways:
            del self.fields["way"]
        for name in ("front", "up"):
            self.fields[name].take_unit(unit)

    def account(self):
        """The cleaned entry as `record_adjustment` takes it."""
        cleaned = self.cleaned_data
        return {
            "what": cleaned["what"],
            "front_um": cleaned["front"] and cleaned["front"].value_um,
            "up_um": cleaned["up"] and cleaned["up"].value_um,
            "entry_id": cleaned["entry_id"],
        }

    @property
    def chosen_way(self):
        """The pk of the way that was chosen, None for none."""
        return self.cleaned_data.get("way")
