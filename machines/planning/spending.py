"""What a shop agreed to pay for parts that were advised."""

from django.db.models import Exists, OuterRef
from django.utils import timezone

from machines.drive.models import RecommendationStep
from machines.drive.quoting import note_of
from shop.billing.models import Quote
from shop.billing.spending import usual_currency

State = RecommendationStep.State


def approved_advice(shop, first, last, viewer):
    """Parts that were approved at a price without a quote, on the day they are wanted by, else
    the day of the approval; three queries. All of the shop's people may see these.

    What came with a quote stands there; what was renewed counts once.
    """
    withdrawn = RecommendationStep.objects.filter(
        recommendation=OuterRef("recommendation"), state=State.WITHDRAWN
    )
    numbers = Quote.objects.filter(shop=shop).values_list("number", flat=True)
    steps = (
        RecommendationStep.objects.filter(
            recommendation__machine__shop=shop, state=State.APPROVED, unit_price__isnull=False
        )
        .filter(~Exists(withdrawn))
        .exclude(note__in=[note_of(number) for number in numbers])
        .select_related("recommendation")
        .order_by("made_at", "pk")
    )
    last_of_each = {step.recommendation_id: step for step in steps}.values()
    currency = usual_currency(shop)
    dated = ((_day_of(step, shop.zone), step) for step in last_of_each)
    return [
        (day, step.unit_price * step.recommendation.quantity, currency)
        for day, step in dated
        if first <= day <= last
    ]


def _day_of(step, zone):
    return step.recommendation.by_date or timezone.localdate(step.made_at, timezone=zone)
