"""What page one of a service report tells of a machine's alignment, one line each."""

from collections import defaultdict

from alignment.sheets import formatting
from shop.web.wording import day_text

from .models import Check
from .report import adjusted, chains, moved_words, value_words

SETTLED = (Check.Verdict.WITHIN, Check.Verdict.NO_LIMIT)


def items_of(report, machine):
    """The `ItemState`s of a machine visited, in checking order."""
    return [one for state in dict(report.once(chains))[machine] for one in state.items]


def found_out(report, machine):
    """What was outside when it was found, with what is allowed."""
    return [
        f"{one.item}: {value_words(report, one.as_found, per=not one.item.is_tilt)}, "
        f"allowed {formatting.limits(one.item, report.unit)}"
        for one in items_of(report, machine)
        if _was_out(one)
    ]


def moved(report, machine):
    """What was moved and how far; what was done, where the move was not measured."""
    return [
        f"{one.station}: {moved_words(report, one) or one.what}"
        for one in report.once(adjusted)
        if one.station.machine_id == machine.pk
    ]


def left(report, machine):
    """How each line was left that was out, or is not settled; the others in one sentence."""
    here = [one for one in items_of(report, machine) if one.as_found or one.as_left]
    alone = [one for one in here if _was_out(one) or one.state.word not in SETTLED]
    told = [f"{one.item}: {_left(report, one)}" for one in alone]
    rest = [one for one in here if one not in alone]
    if rest:
        judged = all(one.state.word == Check.Verdict.WITHIN for one in rest)
        count = f"{len(rest)} {'other ' if alone else ''}{'line' if len(rest) == 1 else 'lines'}"
        told.append(f"{count} measured: {'within' if judged else 'within or without a limit'}")
    return told


def _was_out(one):
    return one.as_found is not None and one.as_found.verdict == Check.Verdict.OUTSIDE


def _left(report, one):
    if one.final is None:
        return one.state.words
    return f"{value_words(report, one.final)}, {one.final.verdict}"


def not_measured(report, machine):
    """The lines that were not measured at the visit, those of one reason together."""
    found = defaultdict(list)
    for one in items_of(report, machine):
        if not (one.as_found or one.as_left):
            found[_why(report, one)].append(str(one.item))
    return [f"{'; '.join(names)} ({why})" for why, names in found.items()]


def _why(report, one):
    """What is known of a line that was not measured at the visit."""
    if one.before is None:
        return "never measured"
    day = day_text(one.before.measured_at.astimezone(report.zone).date())
    return f"last measured {day}, {one.state.words}"
