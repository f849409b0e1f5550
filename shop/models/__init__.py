"""Who and when: people, shops, visits and the documents made at them."""

from .base import Entry
from .people import Firm, Membership, Role, Shop, User
from .visits import Document, NumberSeries, Signature, Visit

__all__ = [
    "Document",
    "Entry",
    "Firm",
    "Membership",
    "NumberSeries",
    "Role",
    "Shop",
    "Signature",
    "User",
    "Visit",
]
