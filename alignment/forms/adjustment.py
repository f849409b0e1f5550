"""What was done to a station."""

from decimal import Decimal

from alignment.models import Adjustment
from shop.forms import EntryForm

from .fields import LengthField

LONGEST_MOVE_UM = Decimal(50_000)


class AdjustmentForm(EntryForm):
    """What was moved, and how far where that was measured."""

    what = Adjustment._meta.get_field("what").formfield(
        help_text="Such as: housing bolts loosened, tapped over with the brass drift, bolted down."
    )
    right = LengthField(
        required=False,
        label="Moved to the right",
        longest_um=LONGEST_MOVE_UM,
        help_text="Seen from the indicator; minus is to the left.",
    )
    up = LengthField(
        required=False,
        label="Moved up",
        longest_um=LONGEST_MOVE_UM,
        help_text="Minus is down.",
    )

    def __init__(self, *args, unit, **kwargs):
        super().__init__(*args, **kwargs)
        for name in ("right", "up"):
            self.fields[name].take_unit(unit)

    def account(self):
        """The cleaned entry as `record_adjustment` takes it."""
        cleaned = self.cleaned_data
        return {
            "what": cleaned["what"],
            "right_um": cleaned["right"] and cleaned["right"].value_um,
            "up_um": cleaned["up"] and cleaned["up"].value_um,
            "entry_id": cleaned["entry_id"],
        }
