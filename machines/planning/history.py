"""What planning adds to a machine's history."""

from shop.composing import Event
from shop.wording import day_text

from ..models import PlanClosing


def plan_closings(machine, *, limit, before=None):
    """Planned work that was done or skipped, when that was entered; one query."""
    closings = machine.plan_closings.standing().select_related("plan", "made_by")
    if before is not None:
        closings = closings.filter(made_at__lt=before)
    return [
        Event(
            when=closing.made_at,
            kind=f"planned work {closing.outcome}",
            title=f"{closing.plan}: {closing.outcome}",
            text=_text(closing),
            url=closing.plan.get_absolute_url(),
            who=closing.made_by.name,
        )
        for closing in closings.order_by("-made_at", "-pk")[:limit]
    ]


def _text(closing):
    due = f"Was due {day_text(closing.due_on)}: {closing.why_due}." if closing.due_on else ""
    reason = "Skipped because" if closing.outcome == PlanClosing.Outcome.SKIPPED else ""
    note = f"{reason}: {closing.note}" if reason else closing.note
    return " ".join(part for part in (due, note) if part)
