"""What a visit still lacks, as far as the machines app can tell."""

from django.db.models import Exists, OuterRef, Q
from django.urls import reverse

from machines.register.models import Machine
from shop.hooks import SigningBlocker

from .check_lines import part_lines
from .models import Recommendation, RecommendationStep

Urgency = Recommendation.Urgency
ANY_STEP = RecommendationStep.objects.filter(recommendation=OuterRef("pk"))


def urgent_replacements_left_open(visit):
    """Urgent replacements at the machines visited that nobody has dealt with; two queries.

    One that must come before the machine runs again is left open while the machine may run and
    the part is neither fitted nor declined. One for this visit is left open while nobody has said
    anything to it: fitted, approved, put off or declined.
    """
    advice = Recommendation.objects.open().filter(machine__visited__visit=visit).distinct()
    running = Machine.objects.with_stop_state().filter(visited__visit=visit, stopped=False)
    dangerous = Q(urgency=Urgency.BEFORE_RUN, machine__in=running)
    unanswered = Q(~Exists(ANY_STEP), urgency=Urgency.THIS_VISIT, visit=visit)
    return [
        SigningBlocker(sentence=_sentence(one), url=one.get_absolute_url())
        for one in advice.filter(dangerous | unanswered).select_related("machine")
    ]


def parts_not_looked_at(visit):
    """Parts on the check list of an incident that nobody has looked at."""
    by_machine = {}
    for part in part_lines(visit):
        if not part.is_done:
            by_machine.setdefault(part.line.visited.machine.number, []).append(part.line)
    return [
        SigningBlocker(
            sentence=f"machine {number}, not looked at yet: {', '.join(map(str, lines))}",
            url=f"{visit.get_absolute_url()}#part-{lines[0].pk}",
        )
        for number, lines in by_machine.items()
    ]


def belts_off_not_inspected(visit):
    """Belts that were taken off at the visit and not looked at; one query."""
    waiting = visit.belts_off.not_looked_at()
    return [
        SigningBlocker(
            sentence=f"machine {off.belt.machine.number}: the {off.belt} is off "
            "and its teeth were not looked at",
            url=f"{reverse('machines:inspect_belt', args=[off.belt_id])}?visit={visit.pk}",
        )
        for off in waiting.select_related("belt__machine")
    ]


def _sentence(advice):
    where = f"machine {advice.machine.number}"
    if advice.urgency == Urgency.BEFORE_RUN:
        return f"{where} may run, but before it does: {advice.what}"
    return f"{where}: {advice.what}, this visit: neither fitted nor decided on"
