"""What a device has to know of a line of a sheet to work out its sweep without a server."""

import json

from alignment.sheets import formatting
from alignment.sheets.directions import SHORT, WORDS, movers_of, plus_of

from .glance import strip


def fit_facts(item, entry, last):
    """The facts for `alignment/worked_here.js` as JSON; runs SQL for the shop's decision rule and
    the firm's indicators, and for the axes that move its station.

    last: the check that it was last left with, or None.
    Lengths are floats in µm unless named otherwise; what is typed stays in the form's boxes.
    """
    lower_um, upper_um = item.limits_um
    return json.dumps(
        {
            "quantity": item.quantity,
            "label": formatting.quantity_words(item),
            "limits": formatting.limits(item, entry.unit),
            "per": formatting.per_words(item.per_mm, entry.unit) if item.is_tilt else "",
            "strip": strip(item, None, entry.unit, last),
            "toleranceUm": formatting.tolerance_of(item),
            "isTilt": item.is_tilt,
            "plus": plus_of(item.quantity),
            "words": WORDS,
            "short": SHORT,
            "movers": movers_of(item.station) if formatting.can_move(item) else None,
            "surface": item.surface,
            "signs": item.signs,
            "sign": item.sign,
            "lowerUm": _number(lower_um),
            "upperUm": _number(upper_um),
            "rule": str(item.rule),
            "perMm": _number(item.per_mm),
            "atMm": _number(item.at_mm),
            "indicators": {
                indicator.pk: {
                    "errorUm": float(indicator.error_um),
                    "errorTravelUm": _number(indicator.error_travel_um),
                    "resolutionUm": float(indicator.resolution_um),
                    "divisionUm": float(indicator.division.value_um),
                }
                for indicator in entry.form.fields["indicator"].queryset
            },
        }
    )


def _number(value):
    return None if value is None else float(value)
