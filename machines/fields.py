"""Form fields of the machines app."""

from decimal import Decimal

from django import forms
from django.core.validators import MinValueValidator

ABOVE_ZERO = MinValueValidator(Decimal("0.0001"), "It must be more than zero.")
ZERO_OR_MORE = MinValueValidator(0, "It cannot be negative.")


def measure(label, unit, digits, places, *, validator=ABOVE_ZERO):
    """A box for a measured number, with its unit beside it; anything goes without a validator."""
    field = forms.DecimalField(
        label=label,
        required=False,
        max_digits=digits,
        decimal_places=places,
        widget=forms.NumberInput(attrs={"inputmode": "decimal", "step": "any"}),
        validators=[validator] if validator else [],
    )
    field.unit = unit
    return field
