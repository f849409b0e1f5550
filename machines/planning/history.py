"""What planning adds to a machine's history."""

from shop.hooks import Event, HistorySource
from shop.web.wording import day_text

from .models import PlanClosing


def plan_closings(machine):
    """Planned work that was done or skipped, when that was entered."""
    closings = machine.plan_closings.in_effect().select_related("plan", "made_by")
    return [HistorySource(closings, "made_at", _closing)]


def _closing(closing):
    return Event(
        when=closing.made_at,
        kind=f"planned work {closing.outcome}",
        title=f"{closing.plan}: {closing.outcome}",
        text=_text(closing),
        url=closing.plan.get_absolute_url(),
        who=closing.made_by.name,
    )


def _text(closing):
    due = f"Was due {day_text(closing.due_on)}: {closing.why_due}." if closing.due_on else ""
    reason = "Skipped because" if closing.outcome == PlanClosing.Outcome.SKIPPED else ""
    note = f"{reason}: {closing.note}" if reason else closing.note
    return " ".join(part for part in (due, note) if part)


SOURCES = [("planned work", plan_closings)]
