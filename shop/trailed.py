"""How the tables of this app are trailed: see `shop.trail.tables`."""

from .access import owns
from .models import Shop
from .models.charges import billed_to

EXEMPT = {
    "Change": "it is the trail itself",
    "ChainLink": "it is the chain over the trail",
    "ChainHead": "it is where the chain ends",
    "Stir": "it says only that something changed",
    "WorkedOut": "it says how far something was worked out",
    "SentForm": "it says only that a form was sent; what the form made is trailed",
    "SignIn": "it lives and goes with its session; signing in changes no record",
    "Tally": "it counts what was asked for of late, and is forgotten",
    "PinTries": "it counts what was typed wrong, and is forgotten",
}
LEFT_OUT = {
    ("User", "password"): "a secret, though hashed",
    ("User", "last_login"): "signing in changes nothing",
    ("FeedAddress", "secret_sha256"): "the digest of a secret",
    ("SharedDevice", "code_sha256"): "the digest of a secret",
    ("SharedDevice", "secret_sha256"): "the digest of a secret",
    ("SharedDevice", "used_at"): "using a device changes nothing",
    ("Pin", "hashed"): "a secret, though hashed",
    ("SignedRecord", "said"): "long, and held against the digest, which is on the trail",
}
OWN_PAGE = [
    "Firm",
    "Shop",
    "User",
    "Visit",
    "Quote",
    "Statement",
    "Proposal",
]
PARTS_OF = {
    "Membership": ["shop"],
    "FirmMembership": ["firm"],
    "Document": ["statement", "quote", "visit", "shop"],
    "Customer": ["firm"],
    "ToldAnswer": ["shop"],
}
CHAINED = [
    "Signature",
    "SignedRecord",
    "Document",
    "Statement",
    "StatementLine",
    "StatementTax",
    "Payment",
]


def concerns_money(user, visit):
    """Whether the money of a visit concerns the person."""
    return type(visit).objects.filter(billed_to(user), pk=visit.pk).exists()


def invites(user, place):
    """Whether the person is one of those who invite to a shop; to a firm, all its people see."""
    return not isinstance(place, Shop) or owns(user, place)


# Parts that fewer people may see than the record they belong to: functions (user, record).
SEEN_BY = {"Charge": concerns_money, "Invitation": invites}
