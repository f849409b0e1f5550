"""How the tables of this app are trailed: see `shop.trail.tables`."""

from .models.charges import billed_to

EXEMPT = {
    "Change": "it is the trail itself",
    "ChainLink": "it is the chain over the trail",
    "ChainHead": "it is where the chain ends",
    "SentForm": "it says only that a form was sent; what the form made is trailed",
}
LEFT_OUT = {
    ("User", "password"): "a secret, though hashed",
    ("User", "last_login"): "signing in changes nothing",
    ("FeedAddress", "secret_sha256"): "the digest of a secret",
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
PARTS_OF = {"Membership": ["shop"], "Document": ["statement", "quote", "visit", "shop"]}
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


# Parts that fewer people may see than the record they belong to: functions (user, record).
SEEN_BY = {"Charge": concerns_money}
