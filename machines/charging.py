"""What the machines app knows a visit is to be charged with: the parts fitted at it."""

from decimal import Decimal

from django.utils import timezone

from shop.charging import Filled
from shop.models import Charge, Rate
from shop.money import with_markup

from .models import RecommendationStep


def fitted_parts(visit):
    """One line for each recommendation that was fitted at the visit, with the firm's mark-up.

    Fitted at the visit is what was marked so on a machine visited, from arrival to signing. One
    query.
    """
    if visit.arrived_at is None:
        return
    steps = RecommendationStep.objects.filter(
        state=RecommendationStep.State.FITTED,
        recommendation__machine__visited__visit=visit,
        made_at__gte=visit.arrived_at,
        made_at__lte=visit.signed_at or timezone.now(),
    ).select_related("recommendation__part", "recommendation__machine")
    for step in steps:
        yield _line(step.recommendation, visit.firm)


def _line(advice, firm):
    part = advice.part
    known = part is not None and part.cost is not None
    return Filled(
        source=f"recommendation {advice.pk}",
        kind=Charge.Kind.PART,
        text=f"{part.description if part else advice.what}, machine {advice.machine.number}",
        number=part.number if part else "",
        quantity=Decimal(advice.quantity),
        unit=Rate.Unit.PIECE,
        price=with_markup(part.cost, firm.parts_markup_percent) if known else None,
    )
