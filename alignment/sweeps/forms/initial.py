"""What the sweep page starts with, and what it holds after its boxes were laid out anew."""

import uuid

from alignment.geometry.measure.quantity import TIR
from alignment.geometry.measure.runout import SETTLING_POINTS
from alignment.sheets.fields import along_as_typed, along_text
from alignment.sheets.formatting import as_typed
from alignment.sheets.layouts import (
    FIXED,
    LAYOUTS,
    MOST_SETS,
    OWN,
    UNITS,
    emptied,
    filled,
    laid_out,
    sets_in,
    with_more_boxes,
)
from alignment.sheets.units import work_unit
from alignment.sweeps.chain_view import next_phase
from alignment.sweeps.models import Check, Indicator, Sweep
from shop.lengths import UNIT_SYMBOLS, parse_length
from shop.web.listing import whole_number

from .counting import counted_anew, counted_in_last, read_as
from .rows import BAR, FLAT, fresh_rows, redrawn_rows, stored_rows
from .sweep_settings import SweepForm

# What a reading of a good indicator is worth before anybody says better: about one graduation.
# Common practice, no source.
USUAL_READING_U = {"in": "0.00005", "mm": "0.001", "um": "1"}
# What is typed in rows, not round the clock.
IN_ROWS = frozenset({BAR, FLAT})
NOT_KEPT = frozenset({"csrfmiddlewaretoken", "show", "save", "work"})
ROUND = frozenset({"bore", "boss"})
OTHER_SURFACE = {"bore": "boss", "boss": "bore"}


def fresh(visit, item, user, phase=None):
    """An empty sweep of an item; settings and layout are those of the person's last one here."""
    last, unit = _last_sweep(visit, user), work_unit(item.sheet, user)
    settings = (
        _of_last(last, item, unit)
        if last
        else _usual(unit, item.surface, _only_indicator(visit, unit))
    )
    settings["phase"] = phase if phase in Check.Phase.values else next_phase(item, visit)
    if item.surface in IN_ROWS:
        return fresh_rows(settings, _last_check(item))
    # Sag on a face shows along the axis, elsewhere across it; one check does not do for both.
    if settings["sag_on"] != item.surface and {settings["sag_on"], item.surface} - ROUND:
        settings |= {"sag": "", "sag_u": "", "sag_on": item.surface}
    usual = "8" if item.quantity == TIR else "4"
    layout, angles = _layout(last) if last else (usual, FIXED[usual])
    if layout == OWN and (last.surface in IN_ROWS or last.check_record.item_id != item.pk):
        layout, angles = usual, FIXED[usual]
    if item.quantity == TIR and len(angles) < SETTLING_POINTS:
        layout, angles = usual, FIXED[usual]
    boxes = [(f"{angle:g}", "") for angle in angles]
    planes = _planes(item, settings["unit"])
    return filled(settings, layout, [(plane, boxes) for plane in planes])


def _of_last(last, item, unit):
    """The settings of the person's last sweep at the visit; on another machine, in the unit of
    that one's sheet."""
    settings = _settings(last, item.surface)
    if last.check_record.item.sheet_id == item.sheet_id or last.unit == unit:
        return settings
    return _in_new_unit(settings, unit)


def _planes(item, unit):
    """Where the item was swept last, near to far; two places to be named for its first tilt."""
    last = _last_check(item)
    swept = last.sweeps.values_list("z_mm", flat=True) if last else []
    planes = [along_text(z, unit) for z in sorted({z for z in swept if z is not None})]
    return planes or (["", ""] if item.needs_planes else [""])


def _last_check(item):
    return Check.objects.filter(item=item).order_by("-made_at", "-pk").first()


def correcting(check):
    """A stored sweep typed in again, to be changed where it was wrong."""
    sweeps = check.sweeps.all()
    settings = _settings(sweeps[0], sweeps[0].surface)
    settings |= {"phase": check.phase, "note": check.note}
    if check.item.surface in IN_ROWS:
        return fresh_rows(settings, check) | stored_rows(check)
    layouts = {_layout(sweep)[0] for sweep in sweeps}
    layout = layouts.pop() if len(layouts) == 1 else OWN
    return filled(settings, layout, [_stored_set(sweep) for sweep in sweeps])


def _stored_set(sweep):
    boxes = [(f"{r.angle_deg:g}", _in_unit(r, sweep.unit)) for r in sweep.readings.all()]
    return along_text(sweep.z_mm, sweep.unit), boxes


def redrawn(data, wish, item):
    """(data, refusal, question): what was sent with other boxes or in another unit.

    The wish may be refused, or asked about (a `CountQuestion`) before it is granted.
    wish: "layout:8", "unit:in" for the figures, "count:tenths", "count:tenths:stay" or
    "count:tenths:keep" for what readings count in, "reads:um:BOX BOX" for boxes that were meant in
    another one, "sure:BOX=TEXT" for those that are right, "more:", "plane:", "repeat:0" or
    "drop:0", the number a set's.
    """
    kind, _, wanted = wish.partition(":")
    data = {name: data[name] for name in data if name not in NOT_KEPT}
    if kind == "count":
        again, question = counted_anew(data, *wanted.partition(":")[::2])
        return again, "", question
    if kind == "sure":
        return {**data, "sure": wanted}, "", None
    if kind == "reads":
        return read_as(data, *wanted.partition(":")[::2]), "", None
    if item.surface in IN_ROWS:
        return redrawn_rows(data, wish), "", None
    return *_laid_out_anew(data, kind, wanted), None


def _laid_out_anew(data, kind, wanted):
    """(data, refusal) of sets of boxes."""
    settings = {name: data.get(name, "") for name in SweepForm.base_fields if name != "layout"}
    settings["counts_in"] = settings["counts_in"] or settings["unit"]
    layout, sets = data.get("layout", "4"), sets_in(data)
    refusal = ""
    if kind == "unit" and wanted in dict(UNITS):
        old = settings["unit"] if settings["unit"] in UNIT_SYMBOLS else wanted
        sets = [(along_as_typed(plane, old, wanted), boxes) for plane, boxes in sets]
        settings = _in_new_unit(settings, wanted)
    elif kind == "more" and layout == OWN:
        sets = [(plane, with_more_boxes(boxes)) for plane, boxes in sets]
    elif kind == "layout" and wanted in dict(LAYOUTS) and wanted != layout:
        try:
            sets = [(plane, laid_out(wanted, boxes)) for plane, boxes in sets]
            layout = wanted
        except ValueError as error:
            refusal = str(error)
    elif kind in CHANGES:
        sets, refusal = _changed(sets, kind, wanted)
    return filled(settings, layout, sets), refusal


CHANGES = ("plane", "repeat", "drop")


def _changed(sets, kind, wanted):
    """(sets, refusal) with a set more or less."""
    at = whole_number(wanted)
    at = at if at is not None and at < len(sets) else len(sets) - 1
    if kind == "drop":
        return (sets[:at] + sets[at + 1 :], "") if len(sets) > 1 else (sets, "")
    if len(sets) >= MOST_SETS:
        return sets, f"{MOST_SETS} sweeps are the most that one check takes."
    plane, boxes = sets[at]
    again = (plane if kind == "repeat" else "", emptied(boxes))
    return [*sets[: at + 1], again, *sets[at + 1 :]], ""


def _in_new_unit(settings, unit):
    """Another unit for the readings; the settings keep the lengths they had."""
    old = settings["unit"]
    if old in UNIT_SYMBOLS:
        for name in ("sag", "sag_u", "reading_u", "form"):
            settings[name] = as_typed(settings[name], old)
        for name in ("length", "radius"):
            settings[name] = along_as_typed(settings[name], old, unit)
    return settings | {"unit": unit}


def _last_sweep(visit, user):
    return (
        Sweep.objects.of_checks(visit.checks.filter(made_by=user))
        .select_related("check_record__item")
        .prefetch_related("readings")
        .order_by("-check_record__made_at", "pk")
        .first()
    )


def _only_indicator(visit, unit):
    """The firm's indicator in the person's unit, or at all, where there is no choice."""
    found = list(Indicator.objects.in_use().filter(firm=visit.firm_id))
    in_unit = [one for one in found if one.unit == unit]
    for choice in (in_unit, found):
        if len(choice) == 1:
            return choice[0]
    return None


def _usual(unit, surface, indicator):
    return _entry_id() | {
        "unit": unit,
        "counts_in": unit,
        "surface": surface,
        "sag": "",
        "sag_on": surface,
        "sag_u": "",
        "lever": "",
        "lever_error": "",
        "reading_u": "" if indicator else USUAL_READING_U[unit],
        "indicator": f"{indicator.pk}" if indicator else "",
        "form": "",
        "temperature": "",
        "length": "",
        "radius": "",
        "note": "",
    }


def _settings(sweep, surface):
    return _entry_id() | {
        "unit": sweep.unit,
        "counts_in": counted_in_last(sweep),
        "surface": surface,
        "sag": sweep.sag_typed,
        "sag_on": sag_checked_on(sweep),
        "sag_u": sweep.sag_u_typed,
        "lever": _number(sweep.lever_deg),
        "lever_error": _number(sweep.lever_error_deg),
        "reading_u": sweep.reading_u_typed,
        "indicator": f"{sweep.indicator_id or ''}",
        "form": sweep.form_typed,
        "temperature": _number(sweep.temperature_k),
        "length": along_text(sweep.length_mm or None, sweep.unit),
        "radius": along_text(sweep.radius_mm, sweep.unit),
        "note": "",
    }


def _number(value):
    return f"{value:g}" if value else ""


def sag_checked_on(sweep):
    """The surface a stored sweep's sag check was made on; its own where the sign was not turned."""
    if not sweep.sag_typed or parse_length(sweep.sag_typed, sweep.unit) == sweep.sag_um:
        return sweep.surface
    return OTHER_SURFACE.get(sweep.surface, sweep.surface)


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
