"""Tables of billing: charges, prices, quotes, invoices."""

from .charges import (
    Charge,
    ChargeQuerySet,
)
from .customers import (
    Customer,
    CustomerQuerySet,
)
from .prices import (
    Rate,
    TaxCategory,
)
from .quotes import (
    Quote,
    QuoteAnswer,
    QuoteItem,
    QuoteLine,
    QuoteQuerySet,
    quote_sealed,
)
from .statements import (
    HALF_A_HUNDREDTH,
    MONEY,
    Payment,
    PaymentQuerySet,
    Statement,
    StatementLine,
    StatementQuerySet,
    StatementTax,
    statement_sealed,
)

__all__ = [
    "HALF_A_HUNDREDTH",
    "MONEY",
    "Charge",
    "ChargeQuerySet",
    "Customer",
    "CustomerQuerySet",
    "Payment",
    "PaymentQuerySet",
    "Quote",
    "QuoteAnswer",
    "QuoteItem",
    "QuoteLine",
    "QuoteQuerySet",
    "Rate",
    "Statement",
    "StatementLine",
    "StatementQuerySet",
    "StatementTax",
    "TaxCategory",
    "quote_sealed",
    "statement_sealed",
]
