"""What of this app no longer changes once a visit is signed or a document is issued."""

from .freezing import Freeze, visit_signed

ALWAYS = "{row}.id IS NOT NULL"


def statement_sealed(statement_id):
    """SQL that is true when the statement that `statement_id` (SQL) names was issued."""
    return f"EXISTS (SELECT 1 FROM shop_statement s WHERE s.id = {statement_id} AND s.sealed)"


def quote_sealed(quote_id):
    """SQL that is true when the quote that `quote_id` (SQL) names was issued."""
    return f"EXISTS (SELECT 1 FROM shop_quote q WHERE q.id = {quote_id} AND q.sealed)"


RULES = [
    Freeze("shop_visit", "{row}.state = 'signed'", inserts=False),
    # What was agreed on before the visit stays as it was.
    Freeze("shop_proposal", visit_signed("{row}.visit_id"), inserts=False),
    Freeze("shop_signature", visit_signed("{row}.visit_id")),
    Freeze("shop_workspell", visit_signed("{row}.visit_id")),
    Freeze("shop_signedrecord", visit_signed("{row}.visit_id")),
    # What was issued or done once is never changed, only added to.
    Freeze("shop_document", ALWAYS, inserts=False),
    Freeze("shop_sending", ALWAYS, inserts=False),
    Freeze("shop_payment", ALWAYS, inserts=False),
    Freeze("shop_quoteanswer", ALWAYS, inserts=False),
    Freeze("shop_toldanswer", ALWAYS, inserts=False),
    Freeze("shop_toldreply", ALWAYS, inserts=False),
    # A statement and a quote are sealed once all their lines are in.
    Freeze("shop_statement", "{row}.sealed", inserts=False),
    Freeze("shop_statementline", statement_sealed("{row}.statement_id")),
    Freeze("shop_statementtax", statement_sealed("{row}.statement_id")),
    Freeze("shop_quote", "{row}.sealed", inserts=False),
    Freeze("shop_quoteitem", quote_sealed("{row}.quote_id")),
    Freeze(
        "shop_quoteline",
        quote_sealed("(SELECT i.quote_id FROM shop_quoteitem i WHERE i.id = {row}.item_id)"),
    ),
    # What stands on a statement is not charged otherwise, until credit notes took it all back.
    Freeze(
        "shop_charge",
        "EXISTS (SELECT 1 FROM shop_statement s WHERE s.visit_id = {row}.visit_id AND s.sealed"
        " AND s.kind = 'statement' AND NOT EXISTS"
        " (SELECT 1 FROM shop_statement n WHERE n.credits_id = s.id AND n.closes))",
    ),
]
