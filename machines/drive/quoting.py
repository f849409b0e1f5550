"""What the machines app has to quote, and what follows when it is accepted."""

from decimal import Decimal

from machines.visit_work.services import add_machine_to_visit
from shop.billing.money import with_markup
from shop.billing.quotes import Quotable
from shop.web.errors import Refused

from .models import Recommendation, RecommendationStep
from .recommending import take_step

SOURCE = "recommendation "


def open_advice(shop, firm):
    """Every open recommendation of a shop's machines that was not approved yet; two queries."""
    advice = (
        Recommendation.objects.open()
        .filter(machine__shop=shop)
        .exclude(steps__state=RecommendationStep.State.APPROVED)
        .select_related("machine", "part")
        .order_by("machine__number", "pk")
    )
    return [quotable(one, firm) for one in advice]


def quotable(advice, firm):
    """The `Quotable` of a recommendation, the part with the firm's markup."""
    part, quantity = advice.part, Decimal(advice.quantity)
    price = part.price if part else None
    hours = part.fitting_h if part else None
    return Quotable(
        source=f"{SOURCE}{advice.pk}",
        what=f"{advice.what}, machine {advice.machine.number}",
        reason=advice.reason,
        part=part.description if part else advice.what,
        part_number=part.number if part else "",
        quantity=quantity,
        part_price=None if price is None else with_markup(price, firm.parts_markup_percent),
        hours=None if hours is None else hours * quantity,
    )


def note_of(number):
    """What an approval says that came with a quote."""
    return f"quote {number}"


def _advice(item):
    """The recommendation an item was quoted for, None when it came from elsewhere."""
    if not item.source.startswith(SOURCE):
        return None
    return Recommendation.objects.filter(pk=item.source.removeprefix(SOURCE)).first()


def approve(answer):
    """An accepted item approves its recommendation, unless that was settled meanwhile."""
    advice = _advice(answer.item)
    if advice is None:
        return
    try:
        take_step(
            advice,
            RecommendationStep.State.APPROVED,
            made_by=answer.made_by,
            note=note_of(answer.item.quote.number),
            told=answer.told,
        )
    except Refused as refusal:
        raise Refused(f"{answer.item.what}: {refusal}") from refusal


def bring_machines(visit, items):
    """Take up the machines of accepted items at the visit planned for them."""
    for item in items:
        if advice := _advice(item):
            add_machine_to_visit(visit, advice.machine)
