"""The parts of a machine's history on paper that the alignment app knows: its chain, the values of
each acceptance item over the visits, its drift, what was moved."""

from collections import defaultdict

from django.utils.text import capfirst

from alignment.sheets import formatting
from alignment.sheets.models import AcceptanceItem
from alignment.sweeps.between_visits import MOVED_AFTER, moved_between
from alignment.sweeps.chain_view import chain_at, chains_at
from alignment.sweeps.models import Adjustment, Check
from alignment.sweeps.pictures import series_figure
from alignment.sweeps.series import by_item, by_visit, figures_of
from alignment.sweeps.standing import standings
from alignment.sweeps.states import happenings
from machines.history import sections
from shop.hooks import history as events_of
from shop.paper.documents import Column, data_table, figure, heading, paragraph
from shop.paper.palettes import PRINT
from shop.web.wording import day_text

from . import words
from .estimates import drift_of

CHAIN_COLUMNS = [
    Column("", 0.3, "right"),
    Column("Station", 1.5),
    Column("Measured from", 1.5),
    Column("How", 2.8),
    Column("Position", 1.7),
]
ITEM_COLUMNS = [
    Column("Day", 0.9),
    Column("Visit", 0.9),
    Column("As found", 1.7),
    Column("As left", 1.7),
    Column("Moved since it was left before", 2.0),
]
DRIFT_COLUMNS = [
    Column("Item", 1.5),
    Column("Drifts by", 1.9),
    Column("Forecast", 2.1),
    Column("The last move", 2.1),
]
DRIFT_RULE = (
    "Drift is what moved by itself between what one visit left and the next found; what was "
    "adjusted is none of it. Rates by generalised least squares with the stated uncertainties."
)
ADJUSTMENT_COLUMNS = [
    Column("Day", 0.9),
    Column("What", 1.7),
    Column("How", 3.4),
    Column("By", 1.1),
]
PICTURE_WIDTH = 300  # points; wide enough for its words to be read


def title_page(history):
    """The first page, which says whether the machine may run as a service report does."""
    machine = history.machine
    told = standings([machine], chains_at([machine]), history.until)
    return sections.title_page(history, told[machine.pk])


def chain(history):
    """The stations in checking order, what each is measured from, and how it stands today."""
    states = chain_at(history.machine)
    if not states:
        return []
    rows = [
        [
            str(state.station.position),
            capfirst(state.station.name),
            str(state.station.datum or "the master datum"),
            state.station.how or "–",
            state.words,
        ]
        for state in states
    ]
    return [heading("Chain of stations, in checking order"), data_table(CHAIN_COLUMNS, rows)]


def items(history):
    """Each acceptance item that was measured: its picture over the visits, its values, how far it
    moved from visit to visit."""
    machine = history.machine
    swept = Check.objects.of_machine(machine).values("item")
    of_machine = AcceptanceItem.objects.filter(sheet__machine=machine, pk__in=swept)
    measured = list(
        of_machine.select_related("station", "sheet")
        .distinct()
        .order_by("station__position", "-sheet__is_current", "position")
    )
    checks = by_item(measured)
    incidents = list(machine.incidents.order_by("happened_at"))
    happened = happenings([machine.pk], history.until)
    adjusted = _adjusted(machine, measured, happened)
    told = []
    for item in measured:
        visits = by_visit(checks[item.pk], history.zone)
        state = happened.shown(item, checks[item.pk][-1])
        told += _item(history, item, visits, incidents, adjusted[item.pk], state)
    if not told:
        return [heading("Acceptance items"), paragraph("None was measured yet.")]
    return [heading("Acceptance items"), paragraph(RULE, small=True), *told]


RULE = (
    "Uncertainties are expanded, U = k·u for about 95 %; those of two visits are added in squares, "
    "and a vector is held against a circle. "
    "An offset's change is the way its station went against its datum. Not proven: it "
    "moved no more than the uncertainty, if at all."
)


def _adjusted(machine, items, happened):
    """Item pk to the moments at which its station or what it is measured from was moved."""
    moved = defaultdict(list)
    for station, moment in Adjustment.objects.filter(station__machine=machine).values_list(
        "station", "made_at"
    ):
        moved[happened.line_of[station]].append(moment)
    return {
        item.pk: [moment for line in happened.link_of(item.station, item) for moment in moved[line]]
        for item in items
    }


def _item(history, item, visits, incidents, adjusted, state):
    drawing = series_figure(
        item, figures_of(visits), incidents, history.unit, history.zone
    ).drawing(PRINT)
    old = "" if item.sheet.is_current else f", of the sheet {item.sheet}, no longer in force"
    return [
        heading(f"{capfirst(str(item))}{old}", 2),
        *([] if state.counts else [paragraph(f"{capfirst(state.words)}.")]),
        figure(drawing, _caption(history, item), PICTURE_WIDTH),
        data_table(ITEM_COLUMNS, _rows(history, visits, adjusted)),
    ]


def _caption(history, item):
    caption = f"Values over the visits. Tolerance {formatting.limits(item, history.unit)}."
    if item.own_um is None:
        return caption
    factory = formatting.stated(item.own_um, history.unit, item)
    return f"{caption} The factory's own figure is {factory}."


def _rows(history, visits, adjusted):
    before = None
    for one in visits:
        yield [
            day_text(one.day),
            one.visit.number,
            _value(history, one.as_found),
            _value(history, one.as_left),
            _moved(history, before, one.as_found, adjusted),
        ]
        before = one.as_left or one.as_found


def _moved(history, before, found, adjusted):
    """How far an item moved by itself from the last check of the visit before."""
    moved = moved_between(before, found, history.unit)
    if moved is None:
        return "–"
    if any(before.measured_at < moment < found.measured_at for moment in adjusted):
        return MOVED_AFTER
    return moved.words


def _value(history, check):
    if check is None:
        return "–"
    value = formatting.measure(check.told_um, history.unit, check)
    return f"{value} ± {formatting.uncertainty(check.expanded_um, history.unit)}\n{check.verdict}"


def drift(history):
    """How fast each item of the sheet in force drifts, what lies ahead of it, and whether its last
    move was more than wear; empty before anything was measured at two visits."""
    found = [one for one in drift_of(history.machine, until=history.until) if one.moves]
    if not found:
        return []
    rows = [
        [
            capfirst(str(one.item)),
            _speed(one, history.unit),
            words.outlook_words(one),
            words.change_words(one, history.unit) or "–",
        ]
        for one in found
    ]
    return [
        heading("Drift between the visits"),
        paragraph(DRIFT_RULE, small=True),
        data_table(DRIFT_COLUMNS, rows),
        *(paragraph(note, small=True) for note in words.notes_of(found, history.unit)),
    ]


def _speed(one, unit):
    speed, interval = words.speed_words(one, unit), words.interval_words(one, unit)
    return speed if one.rate is None else f"{speed}\n95 %: {interval}"


def adjustments(history):
    """Each time a station was moved, the newest first."""
    moved = events_of(history.machine, limit=None, before=history.until, kind="adjustments")
    rows = [[history.day(event.when), event.title, event.text, event.who] for event in moved]
    return [
        heading("Stations moved"),
        data_table(ADJUSTMENT_COLUMNS, rows) if rows else paragraph("None was moved."),
    ]


SECTIONS = [chain, items, drift, adjustments]
