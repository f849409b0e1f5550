"""The parts of a machine's history on paper that this app knows."""

from datetime import timedelta

from django.db.models import Prefetch
from django.utils.text import capfirst
from reportlab.platypus import PageBreak

from machines.drive.history import fitted_words
from machines.drive.models import Fitting, RecommendationStep
from machines.engineering.downtime import month_first
from machines.incidents.models import IncidentStep
from machines.register.models import Machine
from shop.hooks import history as events_of
from shop.paper.documents import Column, check_block, data_table, heading, key_values, paragraph
from shop.web.wording import day_text, span_text

from .downtimes import times_of

HOURS = timedelta(hours=1)


def title_page(history, may_run):
    """What the machine is, how it stands, and how much is on record; it ends the first page.

    may_run: a `MayRun`.
    """
    machine = history.machine
    named = [
        ("Number and name", str(machine)),
        ("Model", machine.model_name),
        ("Serial number", machine.serial),
        ("Year built", machine.built and str(machine.built)),
        ("Axes", ", ".join(f"{axis}: {axis.moves}" for axis in machine.axes.all())),
        ("May run", _standing(history, may_run)),
        ("Note", machine.note),
    ]
    counted = [
        ("Visits", str(_visited(history).count())),
        ("Incidents", str(_incidents(history).count())),
        ("Belts and bearings looked at", str(len(_events(history, "inspections")))),
        ("Belts and bearings fitted", str(_fittings(history).count())),
        ("Advice still open", str(_open_advice(history).count())),
    ]
    return [
        heading("The machine"),
        key_values([(label, text) for label, text in named if text]),
        heading("On record"),
        key_values(counted),
        PageBreak(),
    ]


def _standing(history, may_run):
    machine = history.machine
    if machine.is_out_of_service:
        return f"out of service since {day_text(machine.out_of_service_on)}"
    return may_run.words


def _events(history, kind):
    return events_of(history.machine, limit=None, before=history.until, kind=kind)


def _incidents(history):
    return history.machine.incidents.filter(happened_at__lt=history.until)


INCIDENT_COLUMNS = [
    Column("When", 1.1),
    Column("What happened", 1.9),
    Column("How hard", 1.3),
    Column("Status", 2.4),
]


def incidents(history):
    """What happened at the machine, and what was found."""
    steps = IncidentStep.objects.select_related("made_by")
    rows = [
        [
            history.when(incident.happened_at),
            _what_happened(incident),
            capfirst(incident.get_severity_display()) or "–",
            _became(history, incident),
        ]
        for incident in _incidents(history).prefetch_related(Prefetch("steps", steps))
    ]
    return [
        heading("Incidents"),
        data_table(INCIDENT_COLUMNS, rows) if rows else paragraph("None is on record."),
    ]


def _what_happened(incident):
    told = [capfirst(incident), incident.broken and f"Broken: {incident.broken}.", incident.note]
    return "\n".join(text for text in told if text)


def _became(history, incident):
    steps = [
        f"{capfirst(step.get_state_display())} on {history.day(step.made_at)}, "
        f"{step.made_by.name}{f': {step.found}' if step.found else ''}"
        for step in incident.steps.all()
        if step.made_at <= history.until
    ]
    return "\n".join(steps) or "Nobody has looked at it."


STANDSTILL_COLUMNS = [
    Column("Month", 1.2),
    Column("Why it was stopped", 2.6),
    Column("Hours stopped", 1.2, "right"),
    Column("Hours running", 1.2, "right"),
]


def standstills(history):
    """The months in which the machine stood, with the cause, and the whole time on record."""
    machine = history.machine
    this = Machine.objects.filter(pk=machine.pk)
    today = history.until.astimezone(history.zone).date()
    (row,) = times_of(this, today, 1, now=history.until)
    if row.since is None:
        return []
    first = row.since.astimezone(history.zone).date()
    months = 1 + 12 * (today.year - first.year) + today.month - first.month
    (row,) = times_of(this, month_first(first, 0), months, now=history.until)
    rows = [
        [
            f"{month.first:%b %Y}",
            "\n".join(f"{cause}, {_hours(span)} h" for cause, span in month.stopped.items()),
            _hours(month.total_stopped),
            _hours(month.running),
        ]
        for month in row.times.months
        if month.stopped
    ]
    rows.append(["All", "", _hours(row.times.stopped), _hours(row.times.running)])
    return [
        heading("Stopped and running"),
        paragraph(
            f"On record since {day_text(first)}. Running is all the time that it was neither "
            "stopped nor out of service, shifts or not. Months in which it never stood are left "
            "out."
        ),
        data_table(STANDSTILL_COLUMNS, rows, totals=1),
        *_breaks(machine),
    ]


def _hours(span):
    return f"{span / HOURS:,.1f}"


def _breaks(machine):
    for one in machine.breaks.all():
        back = f" until {day_text(one.back_on)} ({one.back_reason})" if one.back_on else ""
        yield paragraph(f"Out of service from {day_text(one.out_on)}{back}: {one.reason}.")


EVENT_COLUMNS = [
    Column("Day", 0.9),
    Column("What", 1.9),
    Column("Found", 3.0),
    Column("By", 1.0),
]


def inspections(history):
    """Each look at a belt or bearing, the newest first."""
    rows = [
        [history.day(event.when), event.title, event.text, event.who]
        for event in _events(history, "inspections")
    ]
    return [
        heading("Belts and bearings looked at"),
        data_table(EVENT_COLUMNS, rows) if rows else paragraph("None was looked at."),
    ]


FITTED_COLUMNS = [
    Column("Fitted", 0.9),
    Column("Where", 1.4),
    Column("Part", 2.2),
    Column("Came out", 2.0),
]


def parts_fitted(history):
    """The lives of belts and bearings: when fitted, what, and when and why it came out."""
    rows = [
        [
            history.day(one.fitted_at),
            capfirst(str(one.place)),
            fitted_words(one),
            _came_out(history, one),
        ]
        for one in _fittings(history).select_related("belt", "bearing", "part", "removal")
    ]
    return [
        heading("Belts and bearings fitted"),
        data_table(FITTED_COLUMNS, rows) if rows else paragraph("None was fitted."),
    ]


def _fittings(history):
    fitted = Fitting.objects.of_machine(history.machine).filter(fitted_at__lte=history.until)
    return fitted.filter(from_the_start=False)


def _came_out(history, fitting):
    removal = getattr(fitting, "removal", None)
    if removal is None or removal.removed_at > history.until:
        return "still in the machine"
    ran = span_text(removal.removed_at - fitting.fitted_at)
    return f"{history.day(removal.removed_at)}, after {ran}: {removal.get_why_display()}"


ADVICE_COLUMNS = [
    Column("Urgency", 1.1),
    Column("What to do", 1.8),
    Column("Why", 2.8),
    Column("Answer", 1.2),
]


def open_advice(history):
    """What should be replaced or looked at and is not settled, the most urgent first."""
    advice = _open_advice(history).prefetch_related(
        Prefetch("steps", RecommendationStep.objects.with_told())
    )
    rows = [
        [
            one.urgency_words,
            one.what,
            one.reason,
            _answer(history, list(one.steps.all())),
        ]
        for one in advice.most_urgent_first()
    ]
    return [
        heading("Open advice"),
        data_table(ADVICE_COLUMNS, rows) if rows else paragraph("No advice is open."),
    ]


def _open_advice(history):
    return history.machine.recommendations.open().filter(made_at__lte=history.until)


def _answer(history, steps):
    if not steps:
        return "none yet"
    last = steps[-1]
    note = f": {last.note}" if last.note else ""
    when = f"on {history.day(last.made_at)}, {last.made_by.name}{last.told_words}"
    return f"{last.get_state_display()} {when}{note}"


VISIT_COLUMNS = [
    Column("Day", 0.9),
    Column("Visit", 0.9),
    Column("What for", 2.6),
    Column("Firm", 1.6),
    Column("Signed", 1.0),
]


def visits(history):
    """The visits at which the machine was worked on, the newest first."""
    rows = [
        [
            day_text(here.visit.day),
            here.visit.number,
            here.visit.purpose,
            str(here.visit.firm),
            history.day(here.visit.signed_at),
        ]
        for here in _visited(history).select_related("visit__firm", "visit__shop")
    ]
    return [
        heading("Visits"),
        data_table(VISIT_COLUMNS, rows) if rows else paragraph("Nobody has visited it yet."),
    ]


def _visited(history):
    begun = history.machine.visited.filter(visit__arrived_at__lte=history.until)
    return begun.order_by("-visit__arrived_at", "-pk")


def check(history):
    """Where a reader can see whether the file is the one that was issued."""
    if history.check is None:
        return []
    return [check_block(history.check.address, history.check.code, history.check.chain)]


SECTIONS = [
    incidents,
    standstills,
    inspections,
    parts_fitted,
    open_advice,
    visits,
    check,
]
