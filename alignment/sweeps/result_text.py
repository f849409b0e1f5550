"""What a page says of sweeps that were worked out: figures, warnings, the budget, all in words."""

import math
from dataclasses import dataclass

from alignment.geometry.drift.tolerance import offset_allowed_um
from alignment.geometry.frame import DOWN, FRONT, REAR, UP
from alignment.geometry.measure.hygiene import sweep_warnings
from alignment.geometry.measure.quantity import OFFSET, TILT, TIR
from alignment.geometry.measure.runout import SETTLING_POINTS
from alignment.sheets import formatting
from alignment.sheets.directions import WORDS, direction_words, figure_shown
from alignment.sheets.formatting import Figure, contribution, length, uncertainty

from .glance import shown_by
from .measuring import stated_error_um

SIDEWAYS = ("to the front", "to the rear")
# A share of the budget below this is said to be small, not to be nothing.
SMALL_SHARE = 0.005
CERTAIN = 0.999
NO_FORM = "three readings cannot show it"
RESTS_ON_TYPED = (
    "rests on the uncertainty typed for one reading; so few readings cannot prove it wrong. Typed "
    "30 % too small, “95 %” holds only 83 to 90 in 100 times"
)


@dataclass(frozen=True)
class BudgetRow:
    """One part of the uncertainty as it stands on a page."""

    name: str
    u: str
    effect: str
    contribution: str
    dof: str
    share: str


def figures(asked, measured, unit):
    """The `Figure`s of what was worked out, the one held against the limits first.

    asked: the acceptance item or the stored check. Directions are the station's own, from its
    datum.
    """
    item, show = getattr(asked, "item", asked), shown_by(asked, measured, unit)
    if measured.bar:
        rest = _of_bar(item, measured, unit, show)
    elif measured.flat:
        rest = _of_flat(item, measured, unit, show)
    elif item.is_tilt:
        rest = _of_tilt(asked, item, measured, unit, show)
    else:
        rest = _of_offset(item, measured, unit, show)
    return [
        _held(asked, item, measured, unit, show),
        *rest,
        Figure(
            "Uncertainty u",
            uncertainty(measured.u_um, unit),
            "from the budget below" if measured.u_um is not None else "not known yet",
        ),
        Figure(
            "Guard band",
            uncertainty(measured.judgement.guard_um, unit),
            formatting.RULES[measured.judgement.rule],
        ),
    ]


def _held(asked, item, measured, unit, show):
    note = [_per(asked, unit), _expanded(measured, unit), _direction(item, measured, unit)]
    return Figure(
        formatting.quantity_words(item),
        figure_shown(measured.value_um, item.quantity, show),
        ", ".join(part for part in note if part),
        main=True,
    )


def _per(asked, unit):
    """The length a tilt is stated for; it stands below the figure, which is long enough."""
    return formatting.per_words(asked.per_mm, unit) if asked.is_tilt else ""


def _expanded(measured, unit):
    if measured.expanded_um is None:
        return "uncertainty not known"
    return f"± {uncertainty(measured.expanded_um, unit)} (U, k = {measured.k:.2f})"


def _direction(item, measured, unit):
    if item.quantity == TIR:
        return "of the curve through the readings; the budget has what lies between"
    if item.quantity in (OFFSET, TILT) and not measured.bar:
        return direction_words(measured.front_um, measured.up_um, unit)
    return ""


def _of_offset(item, measured, unit, show):
    size = math.hypot(measured.front_um, measured.up_um)
    plain = [] if item.quantity == OFFSET else [Figure("Offset", show(size))]
    plain += [
        figure
        for figure, quantity in zip(_both(measured, show), ("front", "up"), strict=True)
        if quantity != item.quantity
    ]
    if len(measured.fits) == 1:
        plain.append(Figure("TIR", show(measured.fit.tir_um), "highest less lowest as read"))
    return [*plain, *_of_sweeps(measured, show)]


def _both(measured, show, note=""):
    """The parts to the front or rear and up or down, each by its own name and without a sign."""
    for um, plus, minus in ((measured.front_um, FRONT, REAR), (measured.up_um, UP, DOWN)):
        yield Figure(formatting.capitalised(WORDS[plus if um >= 0 else minus]), show(abs(um)), note)


def _of_sweeps(measured, show):
    """What several sweeps say of each other; of one, whether it closes and what it leaves over."""
    if len(measured.fits) == 1:
        fit = measured.fit
        return [
            Figure("Closure", *_closure(fit, show)),
            Figure("Out-of-round", *_form(fit, show)),
        ]
    worst = max(fit.form_um for fit in measured.fits)
    repeats = [plane.scatter_um for plane in measured.outcome.planes if plane.count > 1]
    said = [Figure("Out-of-round", show(worst), "of the worst sweep")]
    if not any(fit.dof for fit in measured.fits):
        said = [Figure("Out-of-round", "–", NO_FORM)]
    if repeats:
        said.append(Figure("Repeats scatter by", show(max(repeats)), "one standard deviation"))
    axis = measured.outcome.axis
    if axis is not None and axis.bow_um is not None:
        said.append(Figure("Planes off one line", show(axis.bow_um), "the largest"))
    return said


def _form(fit, show):
    """Out-of-round; three readings leave nothing over, whatever the form."""
    if fit.dof == 0:
        return "–", NO_FORM
    return show(fit.form_um), "what no offset explains"


def _of_tilt(asked, item, measured, unit, show):
    per = f"{_per(asked, unit)}, going away from the headstock"
    size = math.hypot(measured.front_um, measured.up_um)
    plain = [] if item.quantity == TILT else [Figure("Tilt", show(size), per)]
    plain += [
        Figure(f"Leans {figure.label[:1].lower()}{figure.label[1:]}", figure.value, figure.note)
        for figure, quantity in zip(
            _both(measured, show, per), ("tilt front", "tilt up"), strict=True
        )
        if quantity != item.quantity
    ]
    return [*plain, *_of_sweeps(measured, show)]


def _of_bar(item, measured, unit, show):
    bar = measured.bar
    hand = measured.signs[0]
    views = (("in height", 1.0, ("up", "down"), bar.up), ("sideways", hand, SIDEWAYS, bar.right))
    said = [
        Figure(
            f"Parallel {words}",
            show(abs(line.slope_um)),
            f"{formatting.per_words(bar.per_mm, unit)}: the free end stands "
            f"{ways[0] if sign * line.slope_um >= 0 else ways[1]}",
        )
        for words, sign, ways, line in views
    ]
    for words, _sign, _ways, line in views:
        if line.straightness_um is not None:
            said.append(Figure(f"Straight {words}", show(line.straightness_um)))
    if bar.separated:
        said.append(Figure("Bar runs out, near", show(bar.runout_near_um)))
        said.append(Figure("Bar runs out, far", show(bar.runout_far_um)))
    held = formatting.quantity_words(item)
    return [figure for figure in said if figure.label != held]


def _of_flat(item, measured, unit, show):
    flat = measured.flat
    stands_um = measured.sign * flat.height_um
    place = (stands_um, 0.0) if item.quantity == FRONT else (0.0, stands_um)
    return [
        Figure("Stands from the axis", show(abs(stands_um)), direction_words(*place, unit)),
        Figure("Leans along the flat", show(flat.lean_um), "highest less lowest"),
        Figure("Bar runs out", show(flat.bar_runout_um), "taken out by turning it"),
    ]


def _closure(fit, show):
    if fit.closure_um is None:
        return "–", "needs 0°, 90°, 180° and 270°"
    return show(fit.closure_um, signed=True), "(0° + 180°) − (90° + 270°)"


def budget_rows(measured, unit):
    """The budget part by part, the largest first."""
    budget = measured.budget
    rows = zip(budget.components, budget.shares, strict=True)
    return [
        BudgetRow(
            name=part.name,
            u=_part(part, unit),
            effect=f"{part.sensitivity:.3g}" if math.isfinite(part.u) else "",
            contribution=contribution(part.contribution, unit),
            dof="∞" if math.isinf(part.dof) else f"{part.dof:.3g}",
            share=_share(share) if math.isfinite(budget.u) else "all",
        )
        for part, share in sorted(rows, key=lambda row: -row[0].contribution)
    ]


def _part(part, unit):
    """The part's own uncertainty; temperature and lever are no lengths."""
    if part.name == "temperature":
        return f"{part.u:.3g} K"
    if part.name == "lever angle":
        return f"{math.degrees(part.u):.3g}°"
    return contribution(part.u, unit)


def _share(share):
    return f"{share:.0%}".replace("%", " %") if share >= SMALL_SHARE else "under 1 %"


def budget_sum(measured, unit):
    """The budget's last line: u, effective degrees of freedom, k and U, in a sentence."""
    budget = measured.budget
    if measured.u_um is None:
        return (
            "One part is not known, so nothing is proven: choose the indicator, or type the "
            "uncertainty of one reading."
        )
    dof = "∞" if math.isinf(budget.dof) else f"{budget.dof:.1f}"
    return (
        f"Together u = {uncertainty(budget.u, unit)} with {dof} effective degrees of freedom, so "
        f"k = {budget.k:.2f} for {budget.probability:.1%} and U = "
        f"{uncertainty(budget.expanded, unit)}."
    ).replace("%", " %")


def probability(measured):
    """How likely the true figure lies within its limits, in words; "" where it is not known."""
    likely = measured.probability
    if likely is None:
        return ""
    if likely > CERTAIN:
        return "over 99.9 % likely within its limits"
    if likely < 1 - CERTAIN:
        return "under 0.1 % likely within its limits"
    return f"{100 * likely:.1f} % likely within its limits"


def hints(asked, measured, sweeps, unit, *, expected_um=None, day=None):
    """What the person should know before trusting what came out, as sentences.

    sweeps: the `TypedSweep`s behind it. expected_um: (right, up) where it was last left. day: the
    day of measuring, for a calibration that had run out by then.
    """
    item = getattr(asked, "item", asked)
    conditions = sweeps[0].conditions
    said = [*_calibration(sweeps, day), *_grown_error(sweeps, unit)]
    if measured.u_um is None and not measured.bar:
        said.append(
            "Nothing is proven yet: choose the indicator, or type the uncertainty of one reading."
        )
    if measured.bar and not measured.bar.separated:
        said.append(
            "The bar was not turned, so its own error is in these figures. Turn it by half a turn "
            "in the spindle, leave the dial's zero alone and read the same positions again."
        )
    for place, fit in enumerate(measured.fits):
        where = f"Sweep {place + 1}: " if len(measured.fits) > 1 else ""
        said += [
            f"{where}{warning.sentence} {warning.what_to_do}"
            for warning in sweep_warnings(
                fit,
                tolerance_um=offset_allowed_um(item.quantity, asked.lower_um, asked.upper_um),
                sag_um=float(sweeps[0].sag_um),
                reading_u_um=conditions.reading_u_um,
                expected_um=expected_um if len(measured.fits) == 1 else None,
                show=lambda value_um: length(value_um, unit),
            )
        ]
    return said + _of_readings(item, measured, conditions)


def _calibration(sweeps, day):
    first = sweeps[0]
    if day is not None and first.calibration_due is not None and first.calibration_due < day:
        yield (
            f"The calibration of {first.indicator_name} ran out on {first.calibration_due}: its "
            "stated error is no longer vouched for. Have it calibrated, or measure with another."
        )


def _grown_error(sweeps, unit):
    """What an error stated per travel comes to over the travel that was read."""
    first = sweeps[0]
    if first.error_travel_um is None or first.reading_u_um > 0:
        return
    stated = formatting.stated_error(
        first.error_um, first.error_travel_um, lambda um: length(um, unit)
    )
    yield (
        f"{first.indicator_name} is stated to {stated}. Over what was read here that is "
        f"± {length(stated_error_um(sweeps), unit)}, and the budget takes that."
    )


def _of_readings(item, measured, conditions):
    said = []
    if conditions.typed_u_um and any(math.isfinite(fit.dof_u) for fit in measured.fits):
        said.append(
            "The readings scatter more than the uncertainty typed for them, so the scatter is used."
        )
    elif conditions.typed_u_um:
        said.append(f"The figure {RESTS_ON_TYPED}: choose the indicator where you are not sure.")
    if advice := _form_unknown(item, measured):
        said.append(advice)
    off = measured.judgement.likely_off
    if measured.probability is not None and off:
        said.append(
            f"The uncertainty rests on {measured.budget.dof:.1f} degrees of freedom, so the chance "
            f"of lying within may be off by up to {off} points in a hundred. Read more points, or "
            "choose the indicator."
        )
    return said


def _form_unknown(item, measured):
    """Why nothing is proven where readings cannot show form, and what settles it."""
    if not measured.outcome.form_unknown:
        return ""
    if measured.bar:
        return (
            "Opposite readings of a bar show its offset and nothing of its form, so it is not "
            "proven within. Type the bar's out-of-round from its certificate, or sweep eight "
            "points round it."
        )
    if item.quantity != TIR:
        return (
            "Three readings fit any offset whatever the form of the surface, so nothing is proven. "
            "Sweep four points or more, or type the surface's out-of-round."
        )
    count = min(len(fit.angles_deg) for fit in measured.fits)
    return (
        f"With {count} points an oval can lie between them, so it is not proven within. Sweep "
        f"{SETTLING_POINTS} points, evenly round, or type the surface's out-of-round."
    )
