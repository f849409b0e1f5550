"""What changes shops, visits and their documents."""

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from shop.hooks import hooks
from shop.paper.issuing import issue
from shop.paper.models import Document
from shop.web.entries import entered_once, identified
from shop.web.errors import Refused
from shop.web.wording import day_text

from .models import Signature, Visit
from .numbering import next_number
from .reporting import report_writer
from .signed import list_signed_records


@entered_once(Visit)
def open_visit(
    *,
    shop,
    firm,
    contractor,
    purpose,
    made_by,
    planned_for=None,
    planned_from=None,
    planned_until=None,
    corrects=None,
    day_told=None,
    entry_id=None,
    made_at=None,
):
    """Open a visit with the next number of the firm's year; Refused to a shop that is closed."""
    if shop.closed_on is not None and corrects is None:
        raise Refused(f"{shop} is closed as a customer: {shop.closed_why}. Open it again first.")
    made_at = made_at or timezone.now()
    year = timezone.localdate(made_at, timezone=shop.zone).year
    return Visit.objects.create(
        number=f"{year}-{next_number(firm, 'visit', year):03d}",
        shop=shop,
        firm=firm,
        contractor=contractor,
        purpose=purpose,
        planned_for=planned_for,
        planned_from=planned_from,
        planned_until=planned_until,
        corrects=corrects,
        day_told=day_told,
        made_by=made_by,
        made_at=made_at,
        **identified(entry_id),
    )


def for_change(visit):
    """The visit, locked for a change; raises Refused once it is signed."""
    visit = Visit.objects.select_for_update(of=("self",)).select_related("shop").get(pk=visit.pk)
    if visit.is_signed:
        signed_on = day_text(visit.signed_at.astimezone(visit.shop.zone))
        raise Refused(
            f"Visit {visit.number} was signed on {signed_on} and no longer changes. "
            "Enter a correction instead: it names what it corrects."
        )
    if visit.is_called_off:
        raise Refused(f"Visit {visit.number} was called off: {visit.changed_why}. Open a new one.")
    return visit


def for_work(visit, *, at=None):
    """The visit, locked for a change; raises Refused once it is signed.

    A planned visit becomes 'on site' with the first thing done at it, now or `at`.
    """
    visit = for_change(visit)
    if visit.state == Visit.State.PLANNED:
        visit.state = Visit.State.ON_SITE
        visit.arrived_at = visit.arrived_at or at or timezone.now()
        visit.save(update_fields=["state", "arrived_at"])
    return visit


@transaction.atomic
def arrive(visit, *, at=None):
    """Start the work on site."""
    return for_work(visit, at=at)


@transaction.atomic
def note_come_back(visit, text):
    """Write down what was left undone at a visit, and why."""
    visit = for_work(visit)
    visit.come_back_for = text.strip()
    visit.save(update_fields=["come_back_for"])
    return visit


def lacks(visit):
    """What the visit still lacks before it can be signed, as `Lack`s of every app."""
    return [lack for check in hooks(settings.BEFORE_SIGNING) for lack in check(visit)]


@transaction.atomic
def sign_visit(visit, *, contractor, customer, at=None):
    """Sign a visit for both parties; from here on nothing of it changes.

    contractor, customer: (name, role) each, or (name, role, strokes) when drawn.
    Raises Refused while something is lacking that no note to come back for explains.
    """
    visit = for_work(visit)
    missing = lacks(visit)
    if first := [lack.sentence for lack in missing if not lack.may_wait]:
        raise Refused(f"Not signed yet: {'; '.join(first)}. Settle it first.")
    if missing and not visit.come_back_for:
        raise Refused(
            "Not signed yet: "
            + "; ".join(lack.sentence for lack in missing)
            + ". Settle it, or write down what you will come back for, and why."
        )
    at = at or timezone.now()
    for party, (name, role, *drawn) in (
        (Signature.Party.CONTRACTOR, contractor),
        (Signature.Party.CUSTOMER, customer),
    ):
        strokes = drawn[0] if drawn else []
        Signature.objects.create(
            visit=visit, party=party, name=name, role=role, strokes=strokes, signed_at=at
        )
    list_signed_records(visit)
    visit.state = Visit.State.SIGNED
    visit.signed_at = at
    visit.left_at = visit.left_at or max(at, visit.arrived_at)
    visit.signed_for, visit.signed_by = visit.shop.name, visit.firm.name
    visit.save(update_fields=["state", "signed_at", "left_at", "signed_for", "signed_by"])
    for follow in hooks(settings.AFTER, about="signing"):
        follow(visit)
    return visit


@transaction.atomic
def sign_and_issue(visit, *, contractor, customer, come_back_for="", at=None):
    """Sign a visit and issue its service report; both happen or neither does.

    come_back_for: what is left undone, noted first; empty leaves the visit's note as it is.
    """
    if come_back_for:
        visit = note_come_back(visit, come_back_for)
    return issue_report(sign_visit(visit, contractor=contractor, customer=customer, at=at), at=at)


@transaction.atomic
def issue_report(visit, *, at=None):
    """Store the service report of a signed visit once; the stored one is returned ever after."""
    if document := visit.documents.filter(kind=Document.Kind.REPORT).first():
        return document
    if not visit.is_signed:
        raise Refused("A report is issued once the visit is signed; until then it is a draft.")
    if visit.came_from:
        raise Refused("What was brought in from elsewhere prints no report here, only its history.")
    return issue(
        report_writer(visit),
        shop=visit.shop,
        firm=visit.firm,
        visit=visit,
        kind=Document.Kind.REPORT,
        number=f"SR-{visit.number}",
        at=at,
    )


@transaction.atomic
def correct_visit(visit, *, made_by, firm, reason, entry_id=None):
    """Open a visit whose records correct those of a signed one."""
    if not visit.is_signed:
        raise Refused("Only a signed visit needs a correction; this one can still be changed.")
    return open_visit(
        shop=visit.shop,
        firm=firm,
        contractor=made_by,
        purpose=f"Correction of visit {visit.number}: {reason}"[:200],
        made_by=made_by,
        corrects=visit,
        entry_id=entry_id,
    )
