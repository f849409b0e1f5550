"""One line of an acceptance sheet before it is saved, and what can be wrong with it."""

from dataclasses import dataclass, replace
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db.models import CheckConstraint

from alignment.geometry.measure.quantity import FRONT, OFFSET, SIZES, TILTS, UP
from shop.lengths import format_length, parse_length
from shop.web.listing import FORMULA_STARTS

from .models import AcceptanceItem, in_order

# A sheet states tolerances and small offsets; beyond a tenth of a metre the unit is a slip.
LONGEST_LIMIT_UM = Decimal(100_000)


@dataclass(frozen=True)
class SheetLine:
    """What a line says, each part read and checked."""

    station: object
    name: str
    quantity: str
    surface: str
    lower_um: Decimal | None = None
    upper_um: Decimal | None = None
    factory_um: Decimal | None = None
    per_mm: Decimal | None = None
    at_mm: Decimal | None = None
    nominal_um: Decimal | None = None

    def item(self, **more):
        """The line as an item of a sheet, not saved."""
        usual = {name for name in ("per_mm", "nominal_um") if getattr(self, name) is None}
        said = {name: value for name, value in vars(self).items() if name not in usual}
        return AcceptanceItem(**said, **more)

    @property
    def key(self):
        """What may stand on a sheet only once."""
        station = self.station.pk or self.station.name.casefold()
        return station, self.name.casefold(), self.quantity

    @property
    def figure(self):
        """What is asked for, in words."""
        quantity = AcceptanceItem.Quantity(self.quantity).label
        return f"{quantity}, {AcceptanceItem.Surface(self.surface).label}"

    def turned(self):
        """The line told of its station, where its limits were told in the indicator's view."""
        sign = AcceptanceItem(
            station=self.station, quantity=self.quantity, surface=self.surface
        ).sign
        lower_um, upper_um = in_order(sign, self.lower_um, self.upper_um)
        factory_um = self.factory_um if self.factory_um is None else int(sign) * self.factory_um
        return replace(self, lower_um=lower_um, upper_um=upper_um, factory_um=factory_um)

    def refuse_if_wrong(self):
        """Raise ValueError when the limits cannot be held against anything, or the figure does
        not come from the surface."""
        refuse_formula(self.name)
        if (self.quantity in TILTS) != (self.per_mm is not None):
            raise ValueError(
                "A tilt, and nothing else, is stated for a length: give it, such as 100 mm, under "
                "'per length' for a tilt, and leave it empty otherwise."
            )
        if self.at_mm is not None and not self._is_offset_in_planes:
            raise ValueError(
                "Only an offset in a bore or on a boss is asked for at a place along the axis; "
                "leave that empty otherwise."
            )
        if self.nominal_um and self.surface != AcceptanceItem.Surface.FLAT:
            raise ValueError("Only a flat stands off the axis by a length; leave it empty here.")
        refuse_bad_limits(self.quantity, self.lower_um, self.upper_um)
        for constraint in AcceptanceItem._meta.constraints:
            if isinstance(constraint, CheckConstraint):
                self._refuse_by(constraint)

    @property
    def _is_offset_in_planes(self):
        round_about = (AcceptanceItem.Surface.BORE, AcceptanceItem.Surface.BOSS)
        return self.surface in round_about and self.quantity in (FRONT, OFFSET, UP)

    @property
    def has_limit(self):
        """Whether a figure can be held against it."""
        return self.lower_um is not None or self.upper_um is not None

    def _refuse_by(self, constraint):
        try:
            constraint.validate(AcceptanceItem, self.item())
        except ValidationError as error:
            raise ValueError(error.messages[0]) from error


BOTH_WAYS = ("±", "+/-", "+-")
TWICE_BELOW = "A ± limit is the lower one too; leave that empty."


def both_ways(text):
    """The length behind a ± as text, such as "0.02" of "± 0.02"; None for a text without one."""
    stripped = text.strip()
    sign = next((sign for sign in BOTH_WAYS if stripped.startswith(sign)), None)
    return stripped.removeprefix(sign).strip() if sign else None


def refuse_formula(text):
    """Raise ValueError for a text that a spreadsheet would run."""
    if text.startswith(FORMULA_STARTS):
        raise ValueError(f"{text!r} begins like a formula; expected words.")


def refuse_bad_limits(quantity, lower_um, upper_um):
    """Raise ValueError, in words for the person, for limits that nothing can lie between; without
    any the line is swept for the record."""
    if lower_um is None and upper_um is None:
        return
    if quantity in SIZES:
        if lower_um is not None:
            raise ValueError(
                "A size has no direction, so it has no lower limit; expected the upper one alone."
            )
        if upper_um <= 0:
            raise ValueError(
                f"The tolerance is {format_length(upper_um, 'um', with_unit=True)}; expected a "
                "length above zero."
            )
    elif None not in (lower_um, upper_um) and upper_um <= lower_um:
        raise ValueError("The upper limit must be above the lower one.")


def exact_text(value_um, unit):
    """A stored length as text that reads back to the same length: in `unit` where that has an
    end, else in micrometres, which always have."""
    if value_um is None:
        return ""
    text = format_length(value_um, unit)
    if parse_length(text, unit) == value_um:
        return text
    return format_length(value_um, "um", with_unit=True)
