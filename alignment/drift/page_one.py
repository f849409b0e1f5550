"""Page one of a service report: the answer for each machine, before the evidence for it."""

from reportlab.platypus import PageBreak

from alignment.sweeps import page_one as alignment
from alignment.sweeps.picture_on_paper import pictures_by_room
from alignment.sweeps.report import chains
from alignment.sweeps.standing import standings
from machines.drive import page_one as drive_train
from machines.register.report import facts
from shop.paper.documents import (
    Column,
    answers,
    data_table,
    first_that_fits,
    heading,
    paragraph,
)
from shop.visits.report import signed_by

from . import words
from .report import drifts_there

COLUMNS = [
    Column("Machine", 1.1),
    Column("May it run", 2.2),
    Column("How it was left", 2.4),
    Column("To replace", 2.2),
    Column("Check by", 1.4),
]
NOTHING = "nothing"
# What the letterhead, the title and what the report is about take of its first page, in points.
OPENING = 175


def page_one(report):
    """A page for each machine visited; of several machines, a summary of them goes first."""
    told = list(zip(report.once(chains), pictures_by_room(report), strict=True))
    if not told:
        return _come_back(report)
    several = len(told) > 1
    pages = [_summary(report)] if several else []
    taken = 0 if several else OPENING
    pages += [_machine(report, machine, choices, taken) for (machine, _), choices in told]
    return [part for page in pages for part in (*page, PageBreak())]


def _come_back(report):
    text = report.visit.come_back_for
    return [heading("To come back for"), paragraph(text)] if text else []


def _summary(report):
    rows = [
        [
            str(machine),
            report.once(_standings)[machine.pk].words,
            "\n".join(alignment.left(report, machine)) or "nothing was measured",
            "\n".join(drive_train.to_replace(report, machine)) or NOTHING,
            _check_by(report, machine),
        ]
        for machine, _ in report.once(chains)
    ]
    return [heading("The machines in short"), data_table(COLUMNS, rows), answers(_whole(report))]


def _machine(report, machine, pictures, taken):
    """One machine's page, its picture as large as the answers leave room for."""
    may_run = report.once(_standings)[machine.pk]
    about = facts(machine)
    above = [
        heading(f"Machine {machine}"),
        *([paragraph(about, small=True)] if about else []),
        heading(f"May it run: {may_run.word}", 2),
        *(paragraph(f"{cause[:1].upper()}{cause[1:]}.") for cause in may_run.causes),
    ]
    below = answers([*_answers(report, machine), *_whole(report)])
    return [*above, first_that_fits(pictures, [*above, below], taken), below]


def _answers(report, machine):
    """(what is asked, the answer) of one machine, a line each; what has no answer says so."""
    fitted = drive_train.fitted(report, machine)
    return [
        ("Out when we came", _lines(alignment.found_out(report, machine))),
        ("Moved", _lines(alignment.moved(report, machine))),
        ("How it was left", _lines(alignment.left(report, machine), "nothing was measured")),
        *([("Fitted", _lines(fitted))] if fitted else []),
        ("To replace", _lines(drive_train.to_replace(report, machine))),
        ("Left undone", _left_undone(report, machine)),
        ("Check by", _check_by(report, machine)),
    ]


def _lines(lines, without=NOTHING):
    return "\n".join(line for line in lines if line) or without


def _left_undone(report, machine):
    """What was not measured or looked at; the visit's note of what one comes back for says why."""
    told = [f"not measured: {one}" for one in alignment.not_measured(report, machine)]
    if parts := drive_train.not_looked_at(report, machine):
        told.append(f"not looked at: {', '.join(parts)}")
    if told and not report.visit.come_back_for:
        told.append("no reason was noted")
    return _lines(told)


def _whole(report):
    """What is said of the visit as a whole."""
    why = "nothing" if report.visit.is_signed else "nothing noted so far"
    return [
        ("We come back for", report.visit.come_back_for or why),
        ("Signed", "\n".join(signed_by(report)) or "not signed yet"),
    ]


def _standings(report):
    """Machine pk to its `MayRun`, for `Report.once`."""
    at_hand = report.once(chains)
    return standings(
        [machine for machine, _ in at_hand],
        {machine.pk: chain for machine, chain in at_hand},
        drive_train.told_until(report),
        advice=report.once(drive_train.advice),
    )


def _check_by(report, machine):
    """The earliest day by which something is to be checked, and what."""
    items = alignment.items_of(report, machine)
    for one in items:
        if one.newest is not None and not one.state.counts:
            return f"now: {one.item}"
    due = [one for one in report.once(drifts_there).get(machine.pk, ()) if one.next_check]
    if due:
        first = min(due, key=lambda one: one.next_check)
        return f"{words.next_check_words(first)}: {first.item}"
    if not any(one.newest for one in items):
        return "nothing is measured yet"
    return "no forecast from what is on record"
