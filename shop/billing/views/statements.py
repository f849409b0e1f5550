"""Pages of statements: issuing, the list with what is outstanding, credit notes and payments."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_POST, require_safe

from shop.billing import services
from shop.billing.credit_notes import issue_credit_note, lines_left
from shop.billing.forms import CreditForm, PaymentForm
from shop.billing.models import Statement
from shop.billing.statement_document import build_statement
from shop.billing.statement_lists import LinesForBookkeeper, StatementTable
from shop.people.access import CONTRACTOR, demand, find, role_at
from shop.people.models import Role
from shop.web.errors import Refused
from shop.web.forms import EntryForm
from shop.web.listing import arrange, csv_of, wants_csv

from .charges import concerned_visit

STATEMENTS = Statement.objects.select_related("shop", "firm", "visit", "credits")


@require_safe
def draft(request, pk):
    """The statement of a visit as it would be issued now."""
    visit = concerned_visit(request, pk, change=True)
    try:
        drawn = services.draw_up(visit)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("shop:charges", pk=visit.pk)
    return HttpResponse(
        build_statement(drawn.statement, drawn.lines, drawn.taxes),
        content_type="application/pdf",
        headers={
            "Content-Disposition": content_disposition_header(
                False, f"statement-{visit.number}-draft.pdf"
            )
        },
    )


@require_POST
def issue(request, pk):
    """Issue the statement of a visit."""
    visit = concerned_visit(request, pk, change=True)
    form = EntryForm(request.POST)
    form.is_valid()
    try:
        statement = services.issue_statement(
            visit, made_by=request.user, entry_id=form.cleaned_data.get("entry_id")
        )
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("shop:charges", pk=visit.pk)
    messages.success(request, f"Statement {statement.number} is issued.")
    return redirect(statement)


@require_safe
def statements(request):
    """Every statement and credit note that concerns the person; as CSV when asked."""
    seen = STATEMENTS.visible_to(request.user).with_outstanding()
    only_open = "outstanding" in request.GET
    if only_open:
        seen = seen.outstanding_only()
    table = arrange(request, StatementTable(seen))
    if wants_csv(request):
        return csv_of(table, "statements")
    context = {
        "table": table,
        "only_open": only_open,
        "sums": Statement.objects.visible_to(request.user).outstanding_by_currency(),
    }
    return render(request, "shop/statements.html", context)


@require_safe
def lines_csv(request):
    """Every line of every statement, for the bookkeeper."""
    return csv_of(LinesForBookkeeper(request.user), "statement-lines")


def statement(request, pk):
    """One statement with its lines, its tax, and what was paid of it; a payment is entered here."""
    found = find(STATEMENTS.with_outstanding(), request.user, pk=pk)
    works = role_at(request.user, found.shop) == Role.CONTRACTOR
    if request.method == "POST":
        demand(request.user, found.shop, CONTRACTOR)
    form = PaymentForm(
        request.POST or None,
        currency=found.currency,
        initial={
            "amount": found.outstanding,
            "paid_on": found.shop.today,
        },
    )
    if form.is_valid():
        try:
            services.record_payment(found, made_by=request.user, **form.cleaned_data)
            messages.success(request, "The payment is recorded.")
            return redirect(found)
        except Refused as refusal:
            form.add_error("amount", str(refusal))
    notes = list(found.credit_notes.order_by("pk"))
    may_pay = works and not found.is_credit_note and (found.outstanding or form.is_bound)
    context = {
        "statement": found,
        "lines": found.lines.all(),
        "taxes": found.taxes.all(),
        "payments": found.payments.select_related("made_by"),
        "credit_notes": notes,
        "taken_back": any(note.closes for note in notes),
        "document": found.document,
        "form": form if may_pay else None,
        "works": works,
    }
    return render(request, "shop/statement.html", context)


def credit(request, pk):
    """Take a statement back with a credit note: all that is left of it, or chosen lines."""
    found = find(STATEMENTS, request.user, pk=pk)
    demand(request.user, found.shop, CONTRACTOR)
    form = CreditForm(request.POST or None, left=[one for one in lines_left(found) if one.quantity])
    if form.is_valid():
        try:
            note = issue_credit_note(
                found,
                made_by=request.user,
                reason=form.cleaned_data["reason"],
                quantities=form.quantities(),
                entry_id=form.cleaned_data["entry_id"],
            )
            messages.success(request, f"Credit note {note.number} is issued.")
            return redirect(note)
        except Refused as refusal:
            form.add_error("what", str(refusal))
    return render(request, "shop/credit.html", {"statement": found, "form": form})
