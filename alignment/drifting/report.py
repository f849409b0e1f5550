"""The part of the service report about drift: what each item did since last time, and when it is
likely to be out."""

from django.utils import timezone

from shop.documents import Column, data_table, figure, heading, paragraph
from shop.palettes import PRINT
from shop.wording import day_text

from . import words
from .estimates import drifts
from .pictures import series_figure

COLUMNS = [
    Column("Item", 1.4),
    Column("Since it was last left", 1.9),
    Column("Drifts by", 2.1),
    Column("Outside now", 0.85),
    Column("Check by", 0.85),
]
PICTURE_WIDTH = 300
METHOD = (
    "Drift is what moved between where one visit left an item and where the next found it; what "
    "was adjusted is none. Rates by generalised least squares with the stated uncertainties, 95 % "
    "intervals in brackets. To check by: the day the chance of being outside passes {risk}. No "
    "forecast covers a knock."
)


def drift(report):
    """A table for each machine visited and the picture of its item most likely to be out."""
    visit = report.visit
    visited = visit.visited.select_related("machine__shop").prefetch_related("machine__axes")
    machines = [here.machine for here in visited]
    found = drifts(machines, until=visit.signed_at or timezone.now(), changes=True)
    flowables, risk = [], None
    for machine in machines:
        items = [one for one in found[machine.pk] if one.moves]
        if items:
            risk = items[0].risk
            flowables += _machine(report, machine, items)
    if not flowables:
        return []
    return [*flowables, paragraph(METHOD.format(risk=words.risk_words(risk)), small=True)]


def _machine(report, machine, items):
    drawn = max(items, key=lambda one: one.chance or 0.0)
    picture = series_figure(drawn, report.unit).drawing(PRINT)
    caption = f"Machine {machine.number}, {drawn.item}: over the visits, with the forecast"
    return [
        heading(f"Drift of machine {machine.number}"),
        data_table(COLUMNS, [_row(report, one) for one in items]),
        figure(picture, caption, width=PICTURE_WIDTH),
    ]


def _row(report, one):
    change = words.change_words(one, report.unit)
    interval = words.interval_words(one, report.unit)
    speed = words.speed_words(one, report.unit)
    return [
        str(one.item),
        change or "not measured at two visits in a row",
        speed if speed == "not known" else f"{speed}\n({interval})",
        words.chance_words(one.chance),
        _check_by(one),
    ]


def _check_by(one):
    """The day to check by, or the reason why it is at once, in few words."""
    if one.disturbed:
        last = one.series.since[-1].happened_at.astimezone(one.series.machine.shop.zone)
        return f"now: incident of {day_text(last)}"
    return words.next_check_words(one)
