"""Pages of who comes when: the calendar, closed days, moving a visit, the private feed."""

from datetime import date

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST, require_safe

from shop.people.access import demand_owner, demand_work, find, owns, role_at
from shop.people.editing import editing, stamped
from shop.people.models import Role, Shop
from shop.visits.models import Visit
from shop.web.errors import Refused
from shop.web.served import absolute

from . import feed as feeds
from . import services
from .entries import entries, today_of
from .forms import ClosedDaysForm, ReasonForm, SlotForm, WeekdaysForm
from .models import ClosedDays
from .month import YEARS_TO_LOOK_AT, Month, by_day

# Of work due, so much is told of a day; a day by itself tells all.
MOST_ON_SHEET, MOST_ON_LIST = 4, 20

VISITS = Visit.objects.select_related("shop", "firm", "contractor")


@require_safe
def calendar(request):
    """A month of visits, proposals, due work and closed days, as a sheet or as a list; or a day."""
    today = today_of(request.user)
    day = _day_of(request.GET.get("day"), today)
    roles = dict(request.user.memberships.current().values_list("shop", "role"))
    shops = list(Shop.objects.filter(pk__in=roles))
    starts = _week_starts_on(shops)
    asked = request.GET.get("month")
    month = Month(day.replace(day=1), starts) if day else Month.named(asked, today, starts)
    as_list = day is not None or request.GET.get("view") == "list"
    if day is not None:
        found = entries(request.user, day, day)
    elif as_list:
        found = entries(request.user, month.first, month.last, MOST_ON_LIST)
    else:
        found = entries(request.user, month.weeks[0][0], month.weeks[-1][-1], MOST_ON_SHEET)
    return render(
        request,
        "shop/calendar.html",
        {
            "month": month,
            "as_list": as_list,
            "weeks": [] if as_list else month.sheet(found, today),
            "day": day,
            "days": sorted(by_day(found, day or month.first, day or month.last).items())
            if as_list
            else [],
            "today": today,
            "anything": bool(found),
            "name_shops": len(shops) > 1,
            "own_shops": [shop for shop in shops if roles[shop.pk] == Role.OWNER],
            "served_shops": [shop for shop in shops if roles[shop.pk] == Role.CONTRACTOR],
        },
    )


def _week_starts_on(shops):
    """The day on which all the shops' weeks start; a Monday (1) where they differ."""
    starts = {shop.week_starts_on for shop in shops}
    return starts.pop() if len(starts) == 1 else 1


def _day_of(text, today):
    """The day an address names; None for none, or one too far off."""
    try:
        day = date.fromisoformat(text or "")
    except ValueError:
        return None
    return day if abs(day.year - today.year) <= YEARS_TO_LOOK_AT else None


def closed_days(request, pk):
    """The days on which a shop is closed: seen by all its people, kept by its owner."""
    shop = find(Shop.objects, request.user, pk=pk)
    may_change = owns(request.user, shop)
    form = ClosedDaysForm(request.POST or None)
    if request.method == "POST":
        demand_owner(request.user, shop)
        if form.is_valid():
            services.close_days(shop=shop, made_by=request.user, **form.cleaned_data)
            return redirect("shop:closed_days", shop.pk)
    today = shop.today
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
    demand_owner(request.user, shop)
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
    demand_owner(request.user, found.shop)
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
    address = absolute(reverse("shop:feed", args=[secret])) if secret else ""
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
