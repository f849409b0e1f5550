"""The ground app's sections of the service report."""

from shop.paper import documents
from shop.paper.issuing import short_code

from .models import Signature

# Common practice, no source; each is shown on the page where its step is done, too.
CAUTIONS = (
    "Lock out and discharge the machine before opening it. The maker's manual, local rules and "
    "licensed practice come first.",
    "Do not touch the stop bars and adjuster bolts that set the jack shaft square. A cocked jack "
    "shaft pinches as the headstock comes forward and eats bearings.",
    "Bring a cocked guide bushing housing level with its three jack screws. Never hammer it out; "
    "at most tap it with a brass drift.",
    "Look at the teeth of every belt that is off before it goes back on.",
)


SIGNED_FOR = (
    "Each party signs for all that this report tells: what was measured, looked at, fitted, moved "
    "and advised. These are the records behind it, each with the short form of its digest."
)
SIGNED_COLUMNS = [
    documents.Column("", 0.3),
    documents.Column("Record", 4),
    documents.Column("SHA-256, short", 1.6),
]


def cautions(report):
    """The cautions for whoever opens the machine next."""
    return [
        documents.heading("Cautions"),
        documents.caution_box(CAUTIONS, title="Before anybody opens the machine"),
    ]


def closing_text(report):
    """What the firm always says at the end of its reports."""
    text = report.visit.firm.report_text
    return [documents.paragraph(text)] if text else []


def _check(report):
    """Where a reader can see whether the file is the one that was issued; not on a draft."""
    if report.check is None:
        return []
    check = report.check
    return [documents.check_block(check.address, check.code, check.chain)]


def signatures(report):
    """Both parties' names, empty lines on a draft; and under them where to check the file."""
    block = documents.signature_block(_signatures(report))
    return [documents.heading("Signatures"), block, *_check(report)]


def signed_by(report):
    """Who signed, in what role, for whom and when, one line each; empty on a draft."""
    return [one.words for one in _signatures(report) if one.name]


def _signatures(report):
    signed = {signature.party: signature for signature in report.once(_signed)}
    return [_signature(report, party, signed.get(party)) for party in Signature.Party]


def _signed(report):
    return list(report.visit.signatures.all())


def _signature(report, party, signature):
    side = {
        Signature.Party.CONTRACTOR: report.visit.firm.name,
        Signature.Party.CUSTOMER: report.visit.shop.name,
    }[party]
    if signature is None:
        return documents.Signature(role=f"for {side}")
    return documents.Signature(
        role=f"{signature.role}, for {side}",
        name=signature.name,
        strokes=signature.strokes,
        signed_at=report.when(signature.signed_at),
        typed_by="" if party == Signature.Party.CONTRACTOR else _contractor(report),
    )


def _contractor(report):
    """The name under which the contractor signed, whose account both parties sign with."""
    names = (one.name for one in report.once(_signed) if one.party == Signature.Party.CONTRACTOR)
    return next(names, "")


def signed_records(report):
    """What was signed: each record with the short form of its digest."""
    rows = [
        [str(one.position), one.name, short_code(one.digest)]
        for one in report.visit.signed_records.defer("said")
    ]
    if not rows:
        return []
    return [
        documents.heading("What was signed"),
        documents.paragraph(SIGNED_FOR),
        documents.data_table(SIGNED_COLUMNS, rows, tight=True),
    ]


SECTIONS = [cautions, closing_text, signatures, signed_records]
