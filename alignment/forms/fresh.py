"""What the sweep page starts with, and what it holds after its boxes were laid out anew."""

import uuid

from alignment.chainview import next_phase
from alignment.models import Check, Sweep
from alignment.shown import as_typed
from shop.lengths import UNIT_SYMBOLS, parse_length

from .layouts import (
    FIXED,
    LAYOUTS,
    OWN,
    UNITS,
    boxes_in,
    filled,
    laid_out,
    with_more_boxes,
)
from .sweep import SweepForm

# What a reading of a good indicator is worth before anybody says better: about one graduation.
# Common practice, no source.
USUAL_READING_U = {"in": "0.00005", "mm": "0.001", "um": "1"}
OTHER_SURFACE = {"bore": "boss", "boss": "bore"}


def fresh(visit, item, user, phase=None):
    """An empty sweep of an item; settings and layout are those of the person's last one here."""
    last = _last_sweep(visit, user)
    settings = _settings(last, item.surface) if last else _usual(user.length_unit, item.surface)
    settings["phase"] = phase if phase in Check.Phase.values else next_phase(item, visit)
    layout, angles = _layout(last) if last else ("4", FIXED["4"])
    if layout == OWN and last.check_record.item_id != item.pk:
        layout, angles = "4", FIXED["4"]
    return filled(settings, layout, [(f"{angle:g}", "") for angle in angles])


def correcting(check):
    """A stored sweep typed in again, to be changed where it was wrong."""
    sweep = check.sweeps.all()[0]
    settings = _settings(sweep, sweep.surface) | {"phase": check.phase, "note": check.note}
    layout, _angles = _layout(sweep)
    boxes = [(f"{r.angle_deg:g}", _in_unit(r, sweep.unit)) for r in sweep.readings.all()]
    return filled(settings, layout, boxes)


def redrawn(data, wish):
    """(data, refusal): what was sent with other boxes or in another unit; the wish may be refused.

    wish: "layout:8", "unit:in" or "more:".
    """
    kind, _, wanted = wish.partition(":")
    settings = {name: data.get(name, "") for name in SweepForm.base_fields if name != "layout"}
    layout, boxes = data.get("layout", "4"), boxes_in(data)
    refusal = ""
    if kind == "unit" and wanted in dict(UNITS):
        settings = _in_new_unit(settings, wanted)
    elif kind == "more" and layout == OWN:
        boxes = with_more_boxes(boxes)
    elif kind == "layout" and wanted in dict(LAYOUTS) and wanted != layout:
        try:
            layout, boxes = wanted, laid_out(wanted, boxes)
        except ValueError as error:
            refusal = str(error)
    return filled(settings, layout, boxes), refusal


def _in_new_unit(settings, unit):
    """Another unit for the readings; the settings keep the lengths they had."""
    old = settings["unit"]
    if old in UNIT_SYMBOLS:
        for name in ("sag", "reading_u"):
            settings[name] = as_typed(settings[name], old)
    return settings | {"unit": unit}


def _last_sweep(visit, user):
    return (
        Sweep.objects.filter(check_record__visit=visit, check_record__made_by=user)
        .select_related("check_record")
        .prefetch_related("readings")
        .order_by("-check_record__made_at", "-pk")
        .first()
    )


def _usual(unit, surface):
    return _entry_id() | {
        "unit": unit,
        "surface": surface,
        "sag": "",
        "sag_on": surface,
        "lever": "",
        "reading_u": USUAL_READING_U[unit],
        "note": "",
    }


def _settings(sweep, surface):
    return _entry_id() | {
        "unit": sweep.unit,
        "surface": surface,
        "sag": sweep.sag_typed,
        "sag_on": sag_checked_on(sweep),
        "lever": f"{sweep.lever_deg:g}" if sweep.lever_deg else "",
        "reading_u": sweep.reading_u_typed,
        "note": "",
    }


def sag_checked_on(sweep):
    """The surface a stored sweep's sag check was made on; its own where the sign was not turned."""
    if not sweep.sag_typed or parse_length(sweep.sag_typed, sweep.unit) == sweep.sag_um:
        return sweep.surface
    return OTHER_SURFACE[sweep.surface]


def _entry_id():
    return {"entry_id": str(uuid.uuid4())}


def _layout(sweep):
    """(layout, angles) of a stored sweep."""
    angles = tuple(reading.angle_deg for reading in sweep.readings.all())
    for layout, fixed in FIXED.items():
        if angles == tuple(map(float, fixed)):
            return layout, angles
    return OWN, angles


def _in_unit(reading, unit):
    """A stored reading as typed, with its unit where another one stands beside the box."""
    return reading.typed if reading.unit == unit else as_typed(reading.typed, reading.unit)
