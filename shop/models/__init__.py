"""Who and when: people, shops and visits; what they are charged with and the documents made."""

from .base import Entry
from .charges import Charge
from .clock import WorkSpell
from .documents import Document, Sending
from .people import Firm, Membership, Role, Shop, User
from .prices import Rate, TaxCategory
from .quotes import Quote, QuoteAnswer, QuoteItem, QuoteLine
from .statements import Payment, Statement, StatementLine, StatementTax
from .visits import NumberSeries, Signature, SignedRecord, Visit

__all__ = [
    "Charge",
    "Document",
    "Entry",
    "Firm",
    "Membership",
    "NumberSeries",
    "Payment",
    "Quote",
    "QuoteAnswer",
    "QuoteItem",
    "QuoteLine",
    "Rate",
    "Role",
    "Sending",
    "Shop",
    "Signature",
    "SignedRecord",
    "Statement",
    "StatementLine",
    "StatementTax",
    "TaxCategory",
    "User",
    "Visit",
    "WorkSpell",
]
