"""What the machines app knows a visit is to be charged with: the parts fitted at it."""

from decimal import Decimal

from django.db.models import Q
from django.utils import timezone

from shop.billing.charge_sources import Filled
from shop.billing.models import Charge, Rate
from shop.billing.money import with_markup
from shop.billing.quotes import accepted_prices

from .models import RecommendationStep
from .quoting import SOURCE


def fitted_parts(visit):
    """One line for each recommendation that was fitted at the visit, and for each belt or bearing
    fitted without one, with the firm's mark-up; three queries.

    Fitted at the visit is what was put in at it, and what was marked so on a machine visited, from
    arrival to signing. What was quoted and accepted costs what was quoted.
    """
    if visit.arrived_at is None:
        return
    steps = list(_fitted_as_advised(visit))
    quoted = accepted_prices(visit.firm, [f"{SOURCE}{step.recommendation_id}" for step in steps])
    for step in steps:
        yield _advised(step, quoted.get(f"{SOURCE}{step.recommendation_id}"), visit.firm)
    unadvised = visit.fittings.filter(step=None, from_the_start=False)
    parts = ("part", "belt__machine", "bearing__machine")
    for fitting in unadvised.select_related(*parts).order_by("pk"):
        yield _unadvised(fitting, visit.firm)


def _fitted_as_advised(visit):
    elsewhere = Q(fitting__visit__isnull=False) & ~Q(fitting__visit=visit)
    return (
        RecommendationStep.objects.filter(
            state=RecommendationStep.State.FITTED,
            recommendation__machine__visited__visit=visit,
            made_at__gte=visit.arrived_at,
            made_at__lte=visit.signed_at or timezone.now(),
        )
        .exclude(elsewhere)
        .select_related("recommendation__part", "recommendation__machine", "fitting__part")
    )


def _advised(step, quoted, firm):
    """What was put in where that is on record, else what was advised."""
    advice = step.recommendation
    part, quantity = advice.part, advice.quantity
    if step.fitting is not None:
        part, quantity = step.fitting.part, step.fitting.quantity
    price = quoted if quoted is not None else _price(part and part.price, firm)
    return _line(f"{SOURCE}{advice.pk}", advice.what, advice.machine, part, quantity, price)


def _unadvised(fitting, firm):
    place = fitting.place
    price = _price(fitting.unit_price, firm)
    return _line(
        f"fitting {fitting.pk}", str(place), place.machine, fitting.part, fitting.quantity, price
    )


def _price(cost, firm):
    """A part's cost with the firm's mark-up; None when it is not known."""
    return None if cost is None else with_markup(cost, firm.parts_markup_percent)


def _line(source, what, machine, part, quantity, price):
    return Filled(
        source=source,
        kind=Charge.Kind.PART,
        text=f"{part.description if part else what}, machine {machine.number}",
        number=part.number if part else "",
        quantity=Decimal(quantity),
        unit=Rate.Unit.PIECE,
        price=price,
    )
