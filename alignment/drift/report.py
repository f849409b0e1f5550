"""The part of the service report about drift: what each item did since last time, and when it is
likely to be out."""

from dataclasses import dataclass, replace
from datetime import date

from django.utils import timezone
from reportlab.graphics.shapes import Drawing

from alignment.sweeps.chain_states import ASKS_MOST_FIRST
from machines.drive.report import ADVICE
from machines.register.models import Machine, VisitedMachine
from machines.register.report import visited
from shop.paper.documents import Column, data_table, figures_in_rows, heading, paragraph
from shop.paper.palettes import PRINT

from . import words
from .estimates import drifts
from .pictures import series_figure

COLUMNS = [
    Column("Item", 1.4),
    Column("Since it was last left", 2.4),
    Column("Drifts by", 3.2),
    Column("Chance outside", 0.8),
    Column("Check by", 0.8),
]
# Points; three to a row of paper, and no text of them smaller than the smallest there is.
PICTURE_WIDTH = 230
ACROSS = 3
METHOD = (
    "Drift is what moved between where one visit left an item and where the next found it; what "
    "was adjusted is none. Rates by generalised least squares with the stated uncertainties, 95 % "
    "intervals in brackets. To check by: the day the chance of being outside passes {risk}. No "
    "forecast covers a knock."
)


@dataclass(frozen=True)
class _Told:
    """What is told of one machine, ready to be laid out."""

    machine: Machine
    risk: float
    rows: list
    notes: list[str]
    drawing: Drawing
    caption: str


def drift(report):
    """A table for each machine visited, then the picture of each one's item that matters most."""
    told = report.once(_told)
    if not told:
        return []
    flowables = []
    for one in told:
        flowables += [
            heading(f"Drift of machine {one.machine.number}"),
            data_table(COLUMNS, one.rows, tight=True),
            *([paragraph("\n".join(one.notes), small=True)] if one.notes else []),
        ]
    risk = words.risk_words(told[-1].risk)
    flowables += figures_in_rows([(one.drawing, one.caption) for one in told], ACROSS)
    return [*flowables, paragraph(METHOD.format(risk=risk), small=True)]


def _told(report):
    """A `_Told` for each machine visited that has moved since a visit before."""
    found = report.once(drifts_there)
    machines = [here.machine for here in report.once(visited)]
    moved = {
        machine: [one for one in found.get(machine.pk, ()) if one.moves] for machine in machines
    }
    return [_machine(report, machine, items) for machine, items in moved.items() if items]


def drifts_there(report):
    """Machine pk to the `ItemDrift`s of each machine visited that another visit had seen by then;
    for `Report.once`."""
    until = report.visit.signed_at or timezone.now()
    machines = _seen_before(report, until)
    return drifts(machines, until=until, changes=True) if machines else {}


def _seen_before(report, until):
    """The machines visited that other visits had seen by then: a first visit shows no move."""
    machines = [here.machine for here in report.once(visited)]
    others = VisitedMachine.objects.filter(machine__in=machines).exclude(visit=report.visit)
    before = set(others.exclude(visit__arrived_at__gt=until).values_list("machine", flat=True))
    return [machine for machine in machines if machine.pk in before]


def _machine(report, machine, items):
    drawn = min(items, key=_matters_most)
    return _Told(
        machine,
        items[0].risk,
        [_row(report, one) for one in items],
        words.notes_of(items, report.unit),
        replace(series_figure(drawn, report.unit), width=PICTURE_WIDTH).drawing(PRINT),
        f"Machine {machine.number}, {drawn.item}: over the visits, with the forecast",
    )


def _matters_most(one):
    """The item whose state asks most comes first, of those the one to be checked soonest, then the
    one most likely out."""
    asks = ASKS_MOST_FIRST.index(one.series.state.word)
    return asks, one.next_check or date.max, -(one.chance or 0.0)


def _row(report, one):
    change = words.change_words(one, report.unit)
    interval = words.interval_words(one, report.unit)
    speed = words.speed_words(one, report.unit)
    return [
        str(one.item),
        change or "not measured at two visits in a row",
        speed if speed == "not known" else f"{speed} ({interval})",
        words.chance_or_more(one.chance, loose=not one.position_known),
        _check_by(one),
    ]


def _check_by(one):
    """The day to check by, or the reason why it is at once."""
    return words.next_check_words(one) if one.position_known else one.series.state.words


# Opinions, apart from what was measured and seen, after it.
OPINIONS = [drift, *ADVICE]
