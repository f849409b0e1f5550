"""Pages of quotes: what to offer, the owner's answers, and the visit planned for them."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from shop.billing import quotes as billing_quotes
from shop.billing.models import Quote
from shop.billing.quote_forms import AnswerForm, OfferForm
from shop.billing.tables import QuoteTable
from shop.people.access import CONTRACTOR, demand, find, role_at, works_at
from shop.people.models import TOLD, Role, Shop
from shop.people.telling import told_in
from shop.web.errors import Refused
from shop.web.listing import arrange, csv_of, wants_csv

QUOTES = Quote.objects.select_related("shop", "firm", "made_by", "document")


@require_safe
def quotes(request):
    """Every quote that concerns the person, also as CSV, and the shops one may be written for."""
    shops = Shop.objects.filter(
        memberships__user=request.user,
        memberships__role=Role.CONTRACTOR,
        memberships__ended_at=None,
    )
    seen = Quote.objects.visible_to(request.user).select_related("shop", "firm")
    table = arrange(request, QuoteTable(seen.with_open_items()))
    if wants_csv(request):
        return csv_of(table, "quotes")
    return render(request, "shop/quotes.html", {"table": table, "shops": shops})


def new(request, pk):
    """Choose from open advice what to quote to a shop, price it, and issue the quote."""
    shop = find(Shop.objects, request.user, pk=pk)
    demand(request.user, shop, CONTRACTOR)
    firm = request.user.memberships.current().select_related("firm").get(shop=shop).firm
    quotables = billing_quotes.quotables(shop, firm)
    form = OfferForm(request.POST or None, quotables=quotables, currency=firm.currency)
    if form.is_valid():
        try:
            quote = billing_quotes.issue_quote(
                shop=shop,
                firm=firm,
                made_by=request.user,
                offered=form.offered(),
                note=form.cleaned_data["note"],
                entry_id=form.cleaned_data["entry_id"],
            )
            messages.success(request, f"Quote {quote.number} is issued.")
            return redirect(quote)
        except Refused as refusal:
            form.add_error(None, str(refusal))
    context = {"shop": shop, "firm": firm, "form": form, "quotables": quotables}
    return render(request, "shop/quote_new.html", context)


def quote(request, pk):
    """A quote item by item; the shop's owner accepts or leaves each, or tells the firm, which
    writes it down."""
    found = find(QUOTES, request.user, pk=pk)
    role = role_at(request.user, found.shop)
    writes_down = works_at(request.user, found)
    if request.method == "POST" and not (role == Role.OWNER or writes_down):
        raise PermissionDenied
    items = list(
        found.items.select_related(
            "answer__made_by", *(f"answer__told__{name}" for name in TOLD)
        ).prefetch_related("lines")
    )
    waiting = [item for item in items if not hasattr(item, "answer")]
    form = None
    if (role == Role.OWNER or writes_down) and (waiting or request.method == "POST"):
        told_at = found.shop if writes_down else None
        form = AnswerForm(request.POST or None, items=waiting, told_at=told_at)
    if form is not None and form.is_valid():
        try:
            told = told_in(form, found.firm) if writes_down else None
            billing_quotes.answer_quote(found, form.answers(), made_by=request.user, told=told)
            reader = "the owner" if writes_down else "the firm"
            messages.success(request, f"The answers are kept, and {reader} sees them.")
            return redirect(found)
        except Refused as refusal:
            form.add_error(None, str(refusal))
    context = {
        "quote": found,
        "items": items,
        "rows": [(item, _box(form, item)) for item in items],
        "form": form,
        "may_plan": role == Role.CONTRACTOR
        and any(hasattr(item, "answer") and item.answer.accepted for item in items),
        "visits": found.visits.all(),
    }
    return render(request, "shop/quote.html", context)


def _box(form, item):
    """The form's box for an item, None when it has none."""
    name = f"item_{item.pk}"
    return form[name] if form is not None and name in form.fields else None


@require_POST
def plan(request, pk):
    """Plan a visit for what was accepted."""
    found = find(QUOTES, request.user, pk=pk)
    demand(request.user, found.shop, CONTRACTOR)
    try:
        return redirect(billing_quotes.plan_accepted_work(found, made_by=request.user))
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect(found)
