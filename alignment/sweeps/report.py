"""The parts of the service report that the alignment app knows: the chain, the pictures, the
readings they rest on, what was adjusted."""

from django.db.models import prefetch_related_objects

from alignment.figures.sweep import SMALL_WIDTH
from alignment.geometry.measure.verdict import Rule
from alignment.sheets import formatting
from alignment.sheets.directions import place_words
from machines.register.report import visited
from shop.paper.documents import (
    Column,
    data_table,
    figures_in_rows,
    heading,
    paragraph,
    verdict,
)
from shop.paper.palettes import PRINT
from shop.web.wording import day_text

from .chain_view import chains_at
from .models import Sweep
from .pictures import check_figure, checked_place, judged, marked
from .result_text import RESTS_ON_TYPED

CHAIN_COLUMNS = [
    Column("Station", 1.0),
    Column("What is measured", 1.6),
    Column("Tolerance", 1.15),
    Column("Factory", 0.85),
    Column("As found", 1.75),
    Column("As left", 1.45),
    Column("Verdict", 1.1),
]
RULE = (
    "Uncertainties are expanded, U = k·u for 95.45 %, k by Student's t from each budget's "
    "effective degrees of freedom (about 2). Verdicts by the decision rule of "
    "ISO 14253-1: within, when the figure stays inside its limits by the guard band; outside, when "
    "it is past them by it; not proven in between. Guard band: {rules}. A run-out is that of the "
    "curve through the readings; with fewer than eight points, or on a bar, it is not proven "
    "within unless the surface's out-of-round is stated, and no figure of three points is. "
    "Stale: it or what it is measured from was moved "
    "afterwards."
)


def chains(report):
    """Each machine visited with its chain, in the order they were taken up; for `Report.once`."""
    machines = [here.machine for here in report.once(visited)]
    found = chains_at(machines, report.visit)
    for machine in machines:
        for state in found[machine.pk]:
            _of_machine(state, machine)
    return [(machine, found[machine.pk]) for machine in machines]


def _of_machine(state, machine):
    """Let what is told of its items ask the machine that is at hand."""
    for one in state.items:
        one.item.station.machine = machine


def _lines(chain):
    """(station state, item state) for each line of the report."""
    return [(state, one) for state in chain for one in state.items]


def chain(report):
    """The stations in checking order: tolerance, factory, as found, as left, verdict."""
    flowables = []
    for machine, states in report.once(chains):
        if rows := _chain_rows(report, states):
            flowables += [
                heading(f"Alignment of machine {machine.number}, in checking order"),
                data_table(CHAIN_COLUMNS, rows, tight=True),
            ]
    return [*flowables, paragraph(_rule(report), small=True)] if flowables else []


def _rule(report):
    """The decision rule in words, naming the guard bands of the checks that are printed."""
    used = {
        Rule(check.rule)
        for _, states in report.once(chains)
        for _, one in _lines(states)
        for check in _checks(one)
    }
    return RULE.format(rules="; ".join(formatting.RULES[rule] for rule in sorted(used)))


def _chain_rows(report, states):
    rows, told = [], None
    for state, one in _lines(states):
        station = "" if state is told else str(state.station)
        told = state
        rows.append(
            [
                station,
                one.item.name,
                formatting.limits(one.item, report.unit),
                _factory(report, one.item),
                _found(report, one.as_found),
                _left(report, one),
                _verdict(one),
            ]
        )
    return rows


def _factory(report, item):
    return "–" if item.own_um is None else formatting.stated(item.own_um, report.unit, item)


def _found(report, check):
    return f"{_value(report, check)}, {check.verdict}" if check else "not measured"


def _left(report, one):
    if one.as_left:
        return _value(report, one.as_left)
    return "as found, nothing was moved" if one.left_alone else "not measured"


def value_words(report, check, *, per=True):
    """The figure of a check, as every page of the report writes it; per: that of `measure`."""
    return formatting.measure(check.told_um, report.unit, check, per=per)


def _value(report, check):
    value = value_words(report, check)
    expanded = formatting.uncertainty(check.expanded_um, report.unit)
    if check.guard_um is None:
        return f"{value} ± {expanded}"
    return f"{value} ± {expanded}\nguard {formatting.uncertainty(check.guard_um, report.unit)}"


def _verdict(one):
    if one.final:
        return verdict(one.final.verdict)
    return one.state.words if one.state.was_measured and not one.state.counts else "–"


def pictures(report):
    """Where each axis was found and left, and the readings that say so."""
    pairs = report.once(_drawn)
    swept = [
        row
        for machine, one in report.once(_measured)
        for check in _checks(one)
        for row in _readings(report, machine, check)
    ]
    if not swept:
        return []
    drawn = [heading("Station positions"), paragraph(MARKS), *_in_rows(pairs)]
    readings = [
        heading("Readings as typed", 2),
        data_table(READING_COLUMNS, list(_with_set_ups(swept)), tight=True),
        paragraph("\n".join(_set_ups_told(swept)), small=True),
    ]
    return (drawn if pairs else []) + readings + _of_typed(report)


def _of_typed(report):
    """What a figure rests on where somebody typed the uncertainty of a reading."""
    checks = (check for _, one in report.once(_measured) for check in _checks(one))
    if any(sweep.reading_u_typed for check in checks for sweep in check.sweeps.all()):
        return [paragraph(f"A figure with u typed {RESTS_ON_TYPED}.", small=True)]
    return []


def _measured(report):
    """(machine, item state) of what was measured, its checks with the readings they rest on."""
    measured = [
        (machine, one)
        for machine, states in report.once(chains)
        for _, one in _lines(states)
        if _checks(one)
    ]
    prefetch_related_objects([c for _, one in measured for c in _checks(one)], "sweeps__readings")
    return measured


def _checks(one):
    return [check for check in (one.as_found, one.as_left) if check]


def _drawn(report):
    """(drawing, caption) of each item measured that has a picture."""
    pairs = (_picture(report, machine, one) for machine, one in report.once(_measured))
    return [pair for pair in pairs if pair]


def _in_rows(pairs):
    """Three to a row; those that show their centre larger as well, two to a row after them."""
    small = [pair for pair in pairs if pair[0].width <= SMALL_WIDTH]
    whole = [pair for pair in pairs if pair not in small]
    return [*figures_in_rows(small, ACROSS), *figures_in_rows(whole, ACROSS_WHOLE)]


def _picture(report, machine, one):
    """(drawing, caption) of an item, None where it has no picture."""
    drawn = check_figure(
        one.item,
        report.unit,
        as_found=_place(one.as_found, None if one.as_left else one.state),
        as_left=_place(one.as_left, one.state),
    )
    if drawn is None:
        return None
    drawn = drawn.small()
    caption = f"Machine {machine.number}, {one.item}. {' '.join(drawn.told)}"
    return drawn.drawing(PRINT), caption.strip()


def _place(check, state):
    """Where a check puts its item, with the verdict of the table: that it was saved with, or what
    has become of it since."""
    return marked(judged(checked_place(check), check), state)


READING_COLUMNS = [Column("Check", 2.8), Column("Readings", 3.5), Column("Set-up", 0.6)]
ACROSS, ACROSS_WHOLE = 3, 2
MARKS = (
    "Each mark is where the station stands, seen from its datum. Open ring: as found. Filled dot: "
    "as left. Ellipse: where it stands with 95 % confidence in the plane; the verdict is by the "
    "guard band of the table, which is another rule. Outer ring: the form of what was swept, "
    "plus outwards."
)
NBSP = "\N{NO-BREAK SPACE}"


def _readings(report, machine, check):
    """(check and sweep, readings, how it was set up) of each sweep of a check."""
    sweeps = list(check.sweeps.all())
    for place, sweep in enumerate(sweeps):
        typed = ", ".join(_read_at(reading) for reading in sweep.readings.all())
        which = formatting.sweep_words(sweep, place + 1 if len(sweeps) > 1 else None)
        name = f"{machine.number}, {check}" if place == 0 else ""
        told = "\n".join(part for part in (name, which) if part)
        yield told, typed, ", ".join(_settings(report, check, sweep))


def _set_ups(swept):
    """The set-ups in the order they come, each once, with its number."""
    return {told: number for number, told in enumerate(dict.fromkeys(s for *_, s in swept), 1)}


def _with_set_ups(swept):
    """The rows of the table, each naming its set-up by number."""
    numbers = _set_ups(swept)
    return [[name, typed, str(numbers[told])] for name, typed, told in swept]


def _set_ups_told(swept):
    return [f"Set-up {number}: {told}." for told, number in _set_ups(swept).items()]


def _read_at(reading):
    """One reading and its place, on one line of paper."""
    typed = formatting.as_typed(reading.typed, reading.unit)
    return f"{formatting.place_words(reading)}: {typed}".replace(" ", NBSP)


def _settings(report, check, sweep):
    yield sweep.get_surface_display()
    if sweep.indicator_name:
        yield sweep.indicator_name
    if _overdue(report, check, sweep):
        yield f"calibration overdue since {day_text(sweep.calibration_due)}"
    if sweep.reading_u_typed:
        yield f"u {formatting.as_typed(sweep.reading_u_typed, sweep.unit)}"
    if sweep.form_typed:
        yield f"out-of-round {formatting.as_typed(sweep.form_typed, sweep.unit)}"
    if sweep.lever_deg:
        yield f"lever {sweep.lever_deg:g}°"
    if sweep.sag_typed:
        yield f"sag at the bottom {report.length(sweep.sag_um)}"


def _overdue(report, check, sweep):
    """Whether the indicator's calibration had run out on the day of measuring, in the shop."""
    day = check.made_at.astimezone(report.zone).date()
    return sweep.calibration_due is not None and sweep.calibration_due < day


INDICATOR_COLUMNS = [
    Column("Indicator", 2.2),
    Column("Read to", 1.0),
    Column("Stated error", 1.0),
    Column("Calibration due", 1.3),
    Column("When it was used", 1.6),
]


def indicators(report):
    """What was measured with, and whether its calibration had run out by then."""
    used = {}
    sweeps = Sweep.objects.of_checks(report.visit.checks.all()).exclude(indicator_name="")
    for sweep in sweeps.select_related("check_record"):
        facts = (
            sweep.indicator_name,
            sweep.resolution_um,
            sweep.error_um,
            sweep.error_travel_um,
            sweep.calibration_due,
        )
        overdue = _overdue(report, sweep.check_record, sweep)
        used[facts] = used.get(facts, False) or overdue
    if not used:
        return []
    rows = [_indicator(report, *facts, overdue) for facts, overdue in used.items()]
    return [heading("Measured with"), data_table(INDICATOR_COLUMNS, rows)]


def _indicator(report, name, resolution_um, error_um, travel_um, due, overdue):
    state = "calibration overdue" if overdue else "in calibration"
    return [
        name,
        report.length(resolution_um),
        formatting.stated_error(error_um, travel_um, report.length),
        "not recorded" if due is None else day_text(due),
        "calibration not recorded" if due is None else state,
    ]


ADJUSTMENT_COLUMNS = [
    Column("When", 1.2),
    Column("Station", 1.3),
    Column("What was done", 2.6),
    Column("Moved", 1.8),
    Column("By", 1.0),
]


def adjustments(report):
    """What was moved, in the order it was done."""
    rows = [
        [
            report.when(one.made_at),
            f"{one.station}, machine {one.station.machine.number}",
            "\n".join(part for part in (one.what, one.what_now) if part),
            moved_words(report, one) or "not measured",
            one.made_by.name,
        ]
        for one in report.once(adjusted)
    ]
    return (
        [heading("Adjustments"), data_table(ADJUSTMENT_COLUMNS, rows, tight=True)] if rows else []
    )


def adjusted(report):
    """The adjustments of the visit in the order they were made; for `Report.once`."""
    return list(report.visit.adjustments.select_related("station__machine", "made_by"))


def moved_words(report, one):
    """How far an adjustment moved its station; "" where that was not measured."""
    return place_words(*one.moved_um, report.unit)


STEP_COLUMNS = [
    Column("Station", 1.5),
    Column("Step", 2.9),
    Column("Ticked by", 1.1),
    Column("When", 1.5),
]


def steps(report):
    """The steps of the procedure cards that were ticked: by whom, and when."""
    ticks = report.visit.ticks.select_related("station__machine", "made_by").order_by(
        "station__machine__number", "station__position", "made_at", "pk"
    )
    rows = [
        [
            f"{one.station}, machine {one.station.machine.number}",
            one.words,
            one.made_by.name,
            report.when(one.made_at),
        ]
        for one in ticks
    ]
    if not rows:
        return []
    return [heading("Steps of the procedure cards"), data_table(STEP_COLUMNS, rows, tight=True)]


SECTIONS = [chain, pictures, indicators, adjustments, steps]
