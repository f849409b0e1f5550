"""Pages of calls."""

from urllib.parse import urlencode

from django.contrib import messages
from django.http import Http404
from django.shortcuts import redirect, render
from django.urls import reverse

from shop.people.access import find, place_at
from shop.people.models import Role, Shop
from shop.web.errors import Refused
from shop.web.phones import phone_link

from .forms import CallForm, SettleCallForm
from .models import Call
from .services import note_call, settle_call

CALLS = Call.objects.select_related("shop", "machine__shop", "made_by", "settled_by")


def new_call(request):
    """Write down a call; 404 for whoever comes to no shop for a firm."""
    places = request.user.memberships.current().filter(role=Role.CONTRACTOR)
    shops = Shop.objects.filter(pk__in=places.values("shop"))
    if not shops.exists():
        raise Http404("no shop to be rung from")
    given = {name: request.GET.get(name) for name in ("shop", "machine")}
    form = CallForm(request.POST or None, shops=shops, initial=given)
    if form.is_valid():
        told = form.cleaned_data
        firm = place_at(request.user, told["shop"].pk).firm
        return redirect(note_call(firm=firm, made_by=request.user, **told))
    return render(request, "machines/new_call.html", {"form": form})


def call(request, pk):
    """One call: whom to ring back, and what it leads to in one tap."""
    found = find(CALLS, request.user, pk=pk)
    form = SettleCallForm(request.POST or None)
    if form.is_valid():
        try:
            settle_call(found, by=request.user, **form.cleaned_data)
            messages.success(request, "The call is settled.")
            return redirect(found)
        except Refused as refusal:
            form.add_error("how", str(refusal))
    number = found.phone or found.shop.phone
    context = {
        "call": found,
        "form": form,
        "number": number,
        "dials": phone_link(number, found.shop.country),
        "ways": _ways(found),
    }
    return render(request, "machines/call.html", context)


def _ways(call):
    """[(what to do, its address)] that begin with what was said."""
    about = f"{call.who}: {' '.join(call.says.split())}"
    purpose = urlencode({"purpose": about[:200]})
    if call.machine is None:
        address = reverse("machines:plan_visit", args=[call.shop_id])
        return [("Plan a visit", f"{address}?{purpose}")]
    log = reverse("alignment:log_incident", args=[call.machine_id])
    visit = reverse("machines:open_visit", args=[call.machine_id])
    return [
        ("Log the crash", f"{log}?{urlencode({'note': about})}"),
        ("Open a visit", f"{visit}?{purpose}"),
    ]
