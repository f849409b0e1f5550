"""What the machines app knows a visit is to be charged with: the parts fitted at it."""

from decimal import Decimal

from django.utils import timezone

from shop.charging import Filled
from shop.models import Charge, Rate
from shop.money import with_markup
from shop.quoting import accepted_prices

from .models import RecommendationStep
from .quoting import SOURCE


def fitted_parts(visit):
    """One line for each recommendation that was fitted at the visit, with the firm's mark-up.

    Fitted at the visit is what was marked so on a machine visited, from arrival to signing. What
    was quoted and accepted costs what was quoted. Two queries.
    """
    if visit.arrived_at is None:
        return
    steps = RecommendationStep.objects.filter(
        state=RecommendationStep.State.FITTED,
        recommendation__machine__visited__visit=visit,
        made_at__gte=visit.arrived_at,
        made_at__lte=visit.signed_at or timezone.now(),
    ).select_related("recommendation__part", "recommendation__machine")
    advice = [step.recommendation for step in steps]
    quoted = accepted_prices(visit.firm, [f"{SOURCE}{one.pk}" for one in advice])
    for one in advice:
        yield _line(one, quoted.get(f"{SOURCE}{one.pk}"), visit.firm)


def _price(part, quoted, firm):
    """What was quoted and accepted, else the part's price with the mark-up; None if unknown."""
    if quoted is not None or part is None or part.price is None:
        return quoted
    return with_markup(part.price, firm.parts_markup_percent)


def _line(advice, quoted, firm):
    part = advice.part
    return Filled(
        source=f"{SOURCE}{advice.pk}",
        kind=Charge.Kind.PART,
        text=f"{part.description if part else advice.what}, machine {advice.machine.number}",
        number=part.number if part else "",
        quantity=Decimal(advice.quantity),
        unit=Rate.Unit.PIECE,
        price=_price(part, quoted, firm),
    )
