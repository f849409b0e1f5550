"""What of a machine's stops and advice stood at a moment, for papers that tell of that moment."""

from collections import defaultdict

from django.db.models import Q

from machines.register.models import Standstill
from shop.web.wording import time_text

from .models import Recommendation, RecommendationStep


def stopped_words(machines, until):
    """Machine pk to that it stood stopped at a moment, in words; one query."""
    stops = Standstill.objects.filter(machine__in=machines, began_at__lte=until)
    stops = stops.filter(Q(ended_at__isnull=True) | Q(ended_at__gt=until))
    since = dict(stops.values_list("machine", "began_at"))
    return {
        machine.pk: "stopped until looked at, since "
        f"{time_text(since[machine.pk], machine.shop.zone)}"
        for machine in machines
        if machine.pk in since
    }


def advice_open(machines, visit, until):
    """Machine pk to the advice nobody had settled by a moment, the most urgent first; two queries.

    What a visit recommends counts with it, whenever it was entered. Each has `steps_then`, what
    had become of it by then.
    """
    advice = Recommendation.objects.filter(machine__in=machines)
    if visit is not None and visit.is_signed:
        advice = advice.filter(Q(made_at__lte=until) | Q(visit=visit))
    found, taken = defaultdict(list), defaultdict(list)
    advice = list(advice.select_related("part").most_urgent_first())
    steps = RecommendationStep.objects.with_told().order_by("made_at", "pk")
    for step in steps.filter(recommendation__in=[one.pk for one in advice], made_at__lte=until):
        taken[step.recommendation_id].append(step)
    for one in advice:
        one.steps_then = taken[one.pk]
        if not any(step.state in RecommendationStep.SETTLED for step in one.steps_then):
            found[one.machine_id].append(one)
    return found


def before_it_runs(advice):
    """What open advice asks for before the machine runs again."""
    return [one.what for one in advice if one.urgency == Recommendation.Urgency.BEFORE_RUN]
