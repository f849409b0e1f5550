"""Pages of who comes when: the calendar, closed days, moving a visit, the private feed."""

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST, require_safe

from ..access import demand, demand_work, find, role_at
from ..editing import editing, stamped
from ..errors import Refused
from ..models import ClosedDays, Role, Shop, Visit
from . import feed as feeds
from . import services
from .entries import entries, today_of
from .forms import ClosedDaysForm, ReasonForm, SlotForm, WeekdaysForm
from .month import Month, by_day

VISITS = Visit.objects.select_related("shop", "firm", "contractor")


@require_safe
def calendar(request):
    """A month of visits, proposals, due work and closed days, as a sheet or as a list."""
    today = today_of(request.user)
    month = Month.named(request.GET.get("month"), today)
    as_list = request.GET.get("view") == "list"
    first, last = (month.first, month.last) if as_list else (month.weeks[0][0], month.weeks[-1][-1])
    found = entries(request.user, first, last)
    shops = Shop.objects.visible_to(request.user)
    return render(
        request,
        "shop/calendar.html",
        {
            "month": month,
            "as_list": as_list,
            "weeks": [] if as_list else month.sheet(found, today),
            "days": sorted(by_day(found, first, last).items()) if as_list else [],
            "today": today,
            "anything": bool(found),
            "name_shops": len(shops) > 1,
            "own_shops": _where(request, shops, Role.OWNER),
            "served_shops": _where(request, shops, Role.CONTRACTOR),
        },
    )


def _where(request, shops, role):
    current = request.user.memberships.current().filter(role=role)
    return list(shops.filter(pk__in=current.values("shop")))


def closed_days(request, pk):
    """The days on which a shop is closed: seen by all its people, kept by its owner."""
    shop = find(Shop.objects, request.user, pk=pk)
    may_change = role_at(request.user, shop) == Role.OWNER
    form = ClosedDaysForm(request.POST or None)
    if request.method == "POST":
        demand(request.user, shop, {Role.OWNER})
        if form.is_valid():
            services.close_days(shop=shop, made_by=request.user, **form.cleaned_data)
            return redirect("shop:closed_days", shop.pk)
    today = timezone.localdate(timezone=shop.zone)
    return render(
        request,
        "shop/closed_days.html",
        {
            "shop": shop,
            "form": form,
            "weekdays": WeekdaysForm(initial={"weekdays": list(shop.closed_weekdays)}),
            "coming": shop.closed_days.filter(last__gte=today),
            "may_change": may_change,
        },
    )


@require_POST
def closed_weekdays(request, pk):
    """Which days of the week are without work."""
    shop = find(Shop.objects, request.user, pk=pk)
    demand(request.user, shop, {Role.OWNER})
    form = WeekdaysForm(request.POST)
    if form.is_valid():
        shop.closed_weekdays = "".join(sorted(form.cleaned_data["weekdays"]))
        shop.save(update_fields=["closed_weekdays"])
        messages.success(request, "Saved.")
    return redirect("shop:closed_days", shop.pk)


@require_POST
def open_again(request, pk):
    """Take closed days off the record."""
    found = find(ClosedDays.objects.select_related("shop"), request.user, pk=pk)
    demand(request.user, found.shop, {Role.OWNER})
    shop = found.shop
    found.delete()
    messages.success(request, f"{shop} is open on those days.")
    return redirect("shop:closed_days", shop.pk)


@editing
def move_visit(request, pk):
    """Plan a visit for another time."""
    visit = find(VISITS, request.user, pk=pk)
    demand_work(request.user, visit)
    slot = services.slot_of(visit)
    start = (
        {"day": slot.day, "time_from": slot.start, "time_until": slot.end}
        if slot is not None
        else {}
    )
    form = stamped(request, SlotForm(request.POST or None, initial=start), visit)
    if form.is_valid():
        given = form.cleaned_data
        try:
            moved = services.move_visit(visit, slot=given["slot"], reason=given["reason"])
            messages.success(request, f"{moved} is planned for {given['slot'].in_words}.")
            warn(request, moved)
            return redirect(moved)
        except Refused as refusal:
            form.add_error("day", str(refusal))
    return render(request, "shop/move_visit.html", {"visit": visit, "form": form})


def call_off(request, pk):
    """Call off a visit that has not begun."""
    visit = find(VISITS, request.user, pk=pk)
    if role_at(request.user, visit.shop) != Role.OWNER:
        demand_work(request.user, visit)
    form = ReasonForm(request.POST or None)
    if form.is_valid():
        try:
            services.call_off(visit, reason=form.cleaned_data["reason"])
            messages.success(request, f"{visit} is called off.")
            return redirect(visit)
        except Refused as refusal:
            form.add_error("reason", str(refusal))
    return render(request, "shop/call_off.html", {"visit": visit, "form": form})


def warn(request, visit):
    """Say on the next page what a visit's time clashes with, as far as the person may see it."""
    slot = services.slot_of(visit)
    if slot is None:
        return
    if why := services.closed_why(visit.shop, slot.day):
        messages.warning(request, f"{visit.shop} is closed that day: {why}.")
    for other in services.clashes(
        slot,
        zone=visit.shop.zone,
        contractor=visit.contractor,
        user=request.user,
        leave_out=visit,
    ):
        messages.warning(
            request, f"It overlaps {other} to {other.shop}, {services.slot_of(other).in_words}."
        )


def feed_address(request):
    """The person's private calendar address: made, made anew, taken back."""
    secret = ""
    if request.method == "POST":
        if "revoke" in request.POST:
            feeds.revoke(request.user)
            messages.success(request, "The old address no longer works.")
            return redirect("shop:feed_address")
        secret = feeds.make_address(request.user)
    address = request.build_absolute_uri(reverse("shop:feed", args=[secret])) if secret else ""
    return render(
        request,
        "shop/feed_address.html",
        {"made": feeds.address_of(request.user), "address": address},
    )


@login_not_required
@never_cache
@require_GET
def feed(request, secret):
    """The calendar of whoever the secret was made for; 404 for any other."""
    user = feeds.whose(secret)
    if user is None:
        raise Http404("no such calendar")
    return HttpResponse(
        feeds.calendar_of(user, base=request.build_absolute_uri("/")),
        content_type="text/calendar; charset=utf-8",
        headers={
            "Content-Disposition": 'inline; filename="sweepbook.ics"',
            "X-Robots-Tag": "noindex",
            "Referrer-Policy": "no-referrer",
        },
    )
