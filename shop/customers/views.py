"""Pages of shops as customers: a firm's list, making one, changing it, closing it."""

from django.contrib import messages
from django.db.models import Exists, OuterRef
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from shop.billing.models import Customer
from shop.people.access import CONTRACTOR, demand, demand_owner, find, owns, place_at
from shop.people.editing import editing, stamped
from shop.people.models import Firm, Membership, Role, Shop
from shop.web.errors import Refused
from shop.web.idempotency import sent_once, with_id
from shop.web.listing import page_of

from . import services
from .forms import CloseForm, CustomerForm, NewShopForm, ShopForm

SHOPS = Shop.objects.select_related("kept_by")


@require_safe
def customers(request, pk):
    """The shops that a firm serves or keeps; those that the person serves lead to their pages."""
    firm = find(Firm.objects, request.user, pk=pk)
    serving = Membership.objects.current().filter(shop=OuterRef("pk"))
    served = Shop.objects.filter(Exists(serving.filter(firm=firm))).annotate(
        mine=Exists(serving.filter(user=request.user)),
        has_owner=Exists(serving.filter(role=Role.OWNER)),
    )
    return render(
        request,
        "shop/customers.html",
        {"firm": firm, "page": page_of(request, served.order_by("closed_on", "name"))},
    )


@sent_once
def new_customer(request, pk):
    """Make a customer that the firm keeps until its owner comes."""
    firm = find(Firm.objects, request.user, pk=pk)
    form = with_id(NewShopForm(request.POST or None, firm=firm))
    customer = CustomerForm(request.POST or None, firm=firm, prefix="customer")
    if form.is_valid() and customer.is_valid():
        try:
            made = services.make_customer(
                form.save(), firm=firm, made_by=request.user, **customer.cleaned_data
            )
            messages.success(request, f"{made} is your customer now.")
            return redirect("shop:shop", made.pk)
        except Refused as refusal:
            form.add_error("name", str(refusal))
    context = {"firm": firm, "form": form, "customer": customer}
    return render(request, "shop/new_customer.html", context)


@require_safe
def shop(request, pk):
    """A shop: what it is, who keeps it, and the ways to its people and settings."""
    found = find(SHOPS, request.user, pk=pk)
    place = place_at(request.user, found.pk)
    firm_pk = place.firm_id
    return render(
        request,
        "shop/shop.html",
        {
            "shop": found,
            "may_change": owns(request.user, found),
            "works": place.role == Role.CONTRACTOR,
            "keeps": firm_pk is not None and firm_pk == found.kept_by_id,
            "customer": Customer.objects.select_related("tax")
            .filter(shop=found, firm=firm_pk, firm__isnull=False)
            .first(),
        },
    )


@editing
def edit_shop(request, pk):
    """Change what a shop is; its owners do, and the firm that keeps it."""
    found = find(SHOPS, request.user, pk=pk)
    demand_owner(request.user, found)
    form = stamped(request, ShopForm(request.POST or None, instance=found), found)
    if form.is_valid():
        try:
            services.change_shop(form.save())
            messages.success(request, "Saved. Papers issued from now on say so.")
            return redirect("shop:shop", found.pk)
        except Refused as refusal:
            form.add_error("name", str(refusal))
    return render(request, "shop/edit_shop.html", {"shop": found, "form": form})


@editing
def customer(request, pk):
    """What a firm keeps about a shop for itself: its notes and the tax category."""
    found = find(SHOPS, request.user, pk=pk)
    demand(request.user, found, CONTRACTOR)
    firm = place_at(request.user, found.pk).firm
    kept = Customer.objects.filter(shop=found, firm=firm).first()
    start = {"notes": kept.notes, "tax": kept.tax_id} if kept else {}
    form = CustomerForm(request.POST or None, firm=firm, initial=start)
    if kept:
        stamped(request, form, kept)
    if form.is_valid():
        given = form.cleaned_data
        services.note_customer(firm, found, notes=given["notes"], tax=given["tax"])
        messages.success(request, "Saved.")
        return redirect("shop:shop", found.pk)
    return render(request, "shop/customer.html", {"shop": found, "firm": firm, "form": form})


def close_customer(request, pk):
    """Close a customer that the firm keeps."""
    found = _kept(request, pk)
    form = CloseForm(request.POST or None)
    if form.is_valid():
        try:
            services.close_customer(found, why=form.cleaned_data["why"])
            messages.success(request, f"{found} is closed; its record stays.")
            return redirect("shop:shop", found.pk)
        except Refused as refusal:
            form.add_error("why", str(refusal))
    return render(request, "shop/close_customer.html", {"shop": found, "form": form})


@require_POST
def reopen_customer(request, pk):
    """Open a closed customer again."""
    found = services.reopen_customer(_kept(request, pk))
    messages.success(request, f"{found} is open again.")
    return redirect("shop:shop", found.pk)


def _kept(request, pk):
    """The shop, for somebody of the firm that keeps it."""
    found = find(SHOPS, request.user, pk=pk)
    demand(request.user, found, CONTRACTOR)
    demand_owner(request.user, found)
    return found
