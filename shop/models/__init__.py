"""Who and when: people, shops and visits; what they are charged with and the documents made."""

from .base import Entry, SentForm
from .charges import Charge
from .clock import WorkSpell
from .devices import Pin, PinTries, SharedDevice
from .documents import Document, Sending
from .invitations import Invitation
from .people import Firm, FirmMembership, Membership, Role, Shop, User
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
from .trail import ChainHead, ChainLink, Change
from .visits import NumberSeries, Signature, SignedRecord, Visit

__all__ = [
    "WEEKDAYS",
    "ChainHead",
    "ChainLink",
    "Change",
    "Charge",
    "ClosedDays",
    "Document",
    "Entry",
    "FeedAddress",
    "Firm",
    "FirmMembership",
    "Invitation",
    "Membership",
    "NumberSeries",
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
    "User",
    "Visit",
    "WorkSpell",
    "WorkedOut",
]
