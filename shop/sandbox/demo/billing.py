"""The demo's money: the firm's invented prices, and a statement for each visit signed."""

from datetime import timedelta
from decimal import Decimal

from shop.billing.models import Rate, TaxCategory
from shop.billing.services import issue_statement, record_payment
from shop.visits.models import Visit

TAX = {"name": "Sales tax 6.5 %", "code": "S", "percent": Decimal("6.5"), "is_usual": True}
RATES = [
    (Rate.Kind.NORMAL, "Labour", "h", "96"),
    (Rate.Kind.OVERTIME, "Labour, overtime", "h", "124"),
    (Rate.Kind.WEEKEND, "Labour, weekend", "h", "144"),
    (Rate.Kind.TRAVEL_TIME, "Travel", "h", "62"),
    (Rate.Kind.TRAVEL_DISTANCE, "Travel, distance", "mi", "0.72"),
    (Rate.Kind.FIXED, "Call-out the same day", "pc", "140"),
]
TERMS = {
    "currency": "USD",
    "payment_days": 30,
    "parts_markup_percent": Decimal("15"),
    "payment_note": "By transfer to the account named in our first letter; please give the "
    "statement's number.",
}
PAID_AFTER_DAYS = 24
SIGNED_TO_ISSUED = timedelta(minutes=5)


def set_prices(scene):
    """Enter what the firm asks, and its terms."""
    for name, value in TERMS.items():
        setattr(scene.firm, name, value)
    scene.firm.save()
    tax = TaxCategory.objects.create(firm=scene.firm, **TAX)
    for kind, name, unit, price in RATES:
        Rate.objects.create(
            firm=scene.firm, kind=kind, name=name, unit=unit, price=Decimal(price), tax=tax
        )


def send_statements(scene):
    """Issue a statement for each visit right after it was signed; the newest is not paid yet."""
    contractor = scene.people["contractor"]
    signed = list(Visit.objects.filter(signed_at__isnull=False).order_by("signed_at"))
    for visit in signed:
        issued_at = visit.signed_at + SIGNED_TO_ISSUED
        statement = issue_statement(visit, made_by=contractor, at=issued_at)
        if visit == signed[-1]:
            continue
        paid_on = statement.issued_on + timedelta(days=PAID_AFTER_DAYS)
        if paid_on < scene.now.date():
            record_payment(statement, made_by=contractor, amount=statement.gross, paid_on=paid_on)
