"""From the records to the pictures: positions of axes, values over visits."""

from dataclasses import replace

import numpy as np
from django.http import HttpResponse

from alignment.figures import (
    AxisPosition,
    Band,
    IncidentMark,
    LinesFigure,
    PlottedLine,
    SeriesFigure,
    SweepFigure,
    Tolerance,
    VisitValue,
)
from alignment.geometry.drift.tolerance import offset_allowed_um
from alignment.geometry.measure.quantity import FRONT, UP
from alignment.sheets.directions import SHORT, figure_shown
from alignment.sheets.formatting import per_words
from shop.lengths import format_length
from shop.paper.drawing import to_svg
from shop.paper.palettes import LIGHT, PALETTES

from .measuring import worked_out

# Scales are round in micrometres, or in thousandths of an inch.
ROUND_UM = {"in": 25.4, "mm": 1.0, "um": 1.0}
# A residual smaller than what is kept of a reading is the arithmetic's, not the indicator's.
PLACES_UM = 4


def lengths_in(unit):
    """A function that writes micrometres as text in `unit`."""
    return lambda value_um: format_length(value_um, unit, with_unit=True)


def figures_in(unit, item):
    """A function that writes an item's figure as text in `unit`, with its direction in short."""
    return lambda value_um: figure_shown(value_um, item.quantity, lengths_in(unit), words=SHORT)


def place_of(item, measured):
    """Where what was measured stands: an `AxisPosition`, a `Line` along z, or None where no
    picture says it better than the figures."""
    if measured.bar:
        bar = measured.bar
        return PlottedLine(*(tuple(map(float, part)) for part in _bar_points(bar, measured.signs)))
    if item.is_tilt:
        return _axis_line(item, measured) if measured.outcome.axis is not None else None
    return None if measured.flat else _position(measured)


def _bar_points(bar, signs):
    return bar.z_mm, signs[0] * bar.right.machine_um, signs[1] * bar.up.machine_um


def _axis_line(item, measured):
    """Where the station stands in each plane; z stays the dial's."""
    planes, (front, up, _, _) = measured.outcome.planes, item.view.signs
    return PlottedLine(
        tuple(map(float, measured.outcome.axis.z_mm)),
        tuple(float(front * plane.right_um) for plane in planes),
        tuple(float(up * plane.up_um) for plane in planes),
    )


def _position(measured):
    """The centre with what is known of it; residuals only of a sweep that stands alone."""
    planes = measured.outcome.planes
    alone = planes[0] if len(planes) == 1 and planes[0].dof_u > 0 else None
    fit = measured.fit
    # Three readings leave nothing over whatever the form, so there is none to draw.
    shows_form = len(measured.fits) == 1 and fit.dof > 0
    return AxisPosition(
        front_um=measured.front_um,
        up_um=measured.up_um,
        covariance_um2=alone and _turned(alone.covariance_um2, measured.signs),
        dof=alone and alone.dof_u,
        verdict=measured.verdict,
        residuals=tuple(
            (float(angle), round(float(residual), PLACES_UM))
            for angle, residual in zip(fit.angles_deg, fit.residuals_um, strict=True)
        )
        if shows_form
        else (),
    )


def _turned(covariance_um2, signs):
    """The covariance of (front, up) from that of (right, up)."""
    turned = covariance_um2 * np.outer(signs, signs)
    return tuple(map(tuple, turned.tolist()))


def checked_place(check):
    """Where a stored check puts what it measured; None without a check. Runs SQL for its
    readings."""
    return None if check is None else place_of(check.item, worked_out(check))


def marked(place, state):
    """A place in the picture; its verdict gives way to the check's `ShownState` once it counts no
    more."""
    if state is None or state.counts or not isinstance(place, AxisPosition):
        return place
    return replace(place, verdict=state.word)


def judged(place, check):
    """A place in the picture with the verdict that its check was saved with."""
    if check is None or not isinstance(place, AxisPosition):
        return place
    return replace(place, verdict=check.verdict)


def check_figure(item, unit, *, as_found=None, as_left=None):
    """The picture of what was measured as found and as left, both as `place_of` gives them; None
    where neither has one."""
    places = [place for place in (as_found, as_left) if place is not None]
    if not places:
        return None
    if isinstance(places[0], AxisPosition):
        return sweep_figure(item, unit, as_found=as_found, as_left=as_left)
    return LinesFigure(
        station=str(item),
        format_length=lengths_in(unit),
        what="the bar" if item.surface == "bar" else "the axis",
        as_found=as_found,
        as_left=as_left,
        along=_along(item),
        round_um=ROUND_UM[unit],
    )


def _along(item):
    """Which way the z of its planes counts."""
    if item.surface == "bar":
        return "towards the bar's free end"
    way = "away from" if item.view.along > 0 else "towards"
    return f"away from the indicator, {way} the headstock"


def sweep_figure(item, unit, *, as_found=None, as_left=None):
    """The picture of where an item's station stands as found and as left, both `AxisPosition`s
    or None.

    The circle is the largest offset allowed; for a total indicator reading
    that is half of it, since the TIR of a pure offset is twice the offset.
    """
    return SweepFigure(
        station=str(item),
        format_length=lengths_in(unit),
        as_found=as_found,
        as_left=as_left,
        tolerance_um=_circle(item),
        front_at=item.view.front_at,
        bands=_bands(item),
        round_um=ROUND_UM[unit],
    )


def _circle(item):
    """The radius of the tolerance circle; None where the limits are bands or of no offset."""
    if item.quantity in (FRONT, UP):
        return None
    return offset_allowed_um(item.quantity, item.lower_um, item.upper_um)


def _bands(item):
    if item.quantity not in (FRONT, UP) or not item.has_limit:
        return ()
    lower, upper = (None if um is None else float(um) for um in (item.lower_um, item.upper_um))
    return (Band(item.quantity, lower_um=lower, upper_um=upper),)


def series_figure(item, visits, incidents, unit, zone):
    """The picture of an item's values over visits.

    visits: those of `alignment.sweeps.series`, oldest first. incidents: the machine's.
    """
    return SeriesFigure(
        item=f"{item}, {per_words(item.per_mm, unit)}" if item.is_tilt else str(item),
        format_length=figures_in(unit, item),
        visits=tuple(visit_value(one.day, one.as_found, one.as_left) for one in visits),
        tolerances=(
            Tolerance(
                upper_um=None if item.upper_um is None else float(item.upper_um),
                lower_um=None if item.lower_um is None else float(item.lower_um),
            ),
        )
        if item.has_limit
        else (),
        factory_um=None if item.factory_um is None else float(item.factory_um),
        incidents=tuple(
            IncidentMark(incident.happened_at.astimezone(zone).date()) for incident in incidents
        ),
        round_um=ROUND_UM[unit],
    )


def visit_value(day, found, left):
    """One visit in the picture of a series; found, left: with value_um and expanded_um, or None."""
    return VisitValue(
        day=day,
        as_found_um=found and found.value_um,
        as_found_u_um=found and found.expanded_um,
        as_left_um=left and left.value_um,
        as_left_u_um=left and left.expanded_um,
    )


def svg_response(figure, title, palette):
    """A figure as an image; an unknown palette is the light one."""
    return drawing_response(figure.drawing, title, figure.describe(), palette)


def drawing_response(draw, title, description, palette):
    """What `draw` makes of a palette as an image; an unknown palette is the light one."""
    drawing = draw(PALETTES.get(palette, LIGHT))
    return HttpResponse(
        to_svg(drawing, title, description),
        content_type="image/svg+xml",
        headers={"Cache-Control": "private, no-cache"},
    )
