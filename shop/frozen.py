"""What of this app no longer changes once a visit is signed."""

from .freezing import Freeze, visit_signed

RULES = [
    Freeze("shop_visit", "{row}.state = 'signed'", inserts=False),
    # What was agreed on before the visit stays as it was.
    Freeze("shop_proposal", visit_signed("{row}.visit_id"), inserts=False),
    Freeze("shop_signature", visit_signed("{row}.visit_id")),
    # The document is stored right after signing, so adding one is allowed; changing it is not.
    Freeze("shop_document", visit_signed("{row}.visit_id"), inserts=False),
]
