"""Who and when: people, shops and visits; what they are charged with and the documents made."""

from .base import Entry, SentForm
from .charges import Charge
from .clock import WorkSpell
from .customers import Customer
from .devices import Pin, PinTries, SharedDevice
from .documents import Document, Sending
from .invitations import Invitation
from .people import (
    DateForm,
    Firm,
    FirmMembership,
    Membership,
    PaperSize,
    Role,
    Shop,
    User,
)
from .prices import Rate, TaxCategory
from .quotes import Quote, QuoteAnswer, QuoteItem, QuoteLine
from .schedule import (
    WEEKDAYS,
    ClosedDays,
    FeedAddress,
    Proposal,
    ProposalStep,
    ProposedDay,
    ReminderSent,
)
from .signins import SignIn
from .standing import Stir, WorkedOut
from .statements import Payment, Statement, StatementLine, StatementTax
from .tallies import Tally
from .told import ToldAnswer, ToldReply
from .trail import ChainHead, ChainLink, Change
from .visits import NumberSeries, Signature, SignedRecord, Visit

__all__ = [
    "WEEKDAYS",
    "ChainHead",
    "ChainLink",
    "Change",
    "Charge",
    "ClosedDays",
    "Customer",
    "DateForm",
    "Document",
    "Entry",
    "FeedAddress",
    "Firm",
    "FirmMembership",
    "Invitation",
    "Membership",
    "NumberSeries",
    "PaperSize",
    "Payment",
    "Pin",
    "PinTries",
    "Proposal",
    "ProposalStep",
    "ProposedDay",
    "Quote",
    "QuoteAnswer",
    "QuoteItem",
    "QuoteLine",
    "Rate",
    "ReminderSent",
    "Role",
    "Sending",
    "SentForm",
    "SharedDevice",
    "Shop",
    "SignIn",
    "Signature",
    "SignedRecord",
    "Statement",
    "StatementLine",
    "StatementTax",
    "Stir",
    "Tally",
    "TaxCategory",
    "ToldAnswer",
    "ToldReply",
    "User",
    "Visit",
    "WorkSpell",
    "WorkedOut",
]
