"""Who and when: people, shops, visits and the documents made at them."""

from .base import Entry
from .people import Firm, Membership, Role, Shop, User
from .schedule import (
    WEEKDAYS,
    ClosedDays,
    FeedAddress,
    Proposal,
    ProposalStep,
    ProposedDay,
    ReminderSent,
)
from .visits import Document, NumberSeries, Signature, Visit

__all__ = [
    "WEEKDAYS",
    "ClosedDays",
    "Document",
    "Entry",
    "FeedAddress",
    "Firm",
    "Membership",
    "NumberSeries",
    "Proposal",
    "ProposalStep",
    "ProposedDay",
    "ReminderSent",
    "Role",
    "Shop",
    "Signature",
    "User",
    "Visit",
]
