"""Pages of visits ahead with the due work wanted at them."""

from datetime import timedelta

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from machines.planning import visit_planning
from shop.calendar import services
from shop.calendar.forms import AgreedForm, ProposalForm, ReasonForm, SlotForm, VisitAheadForm
from shop.calendar.models import Proposal
from shop.calendar.views import warn
from shop.people.access import CONTRACTOR, DESK, demand, find, place_at, role_at
from shop.people.models import Role, Shop
from shop.people.telling import told_in
from shop.web.errors import Refused
from shop.web.listing import OpenPage, whole_number

PROPOSALS = Proposal.objects.select_related("shop", "firm", "visit", "made_by")
EARLY_CHOICES = (2, 4, 6, 8, 13)
USUAL_WEEKS = 6
TRIPS_ON_PAGE = 20
DAYS_OFFERED = 3


def propose(request, pk):
    """The owner proposes a visit: which checks, and on which days."""
    shop = find(Shop.objects, request.user, pk=pk)
    demand(request.user, shop, {Role.OWNER})
    items = visit_planning.open_items(shop)
    form = ProposalForm(
        request.POST or None,
        shop=shop,
        work=visit_planning.choices_of(items),
        initial=_wanted(request, shop, items),
    )
    if form.is_valid():
        given = form.cleaned_data
        try:
            proposal = visit_planning.propose(
                shop=shop,
                firm=given["firm"],
                purpose=given["purpose"],
                slots=given["slots"],
                pairs=visit_planning.chosen(items, given.get("work", [])),
                made_by=request.user,
                entry_id=given["entry_id"],
            )
            messages.success(request, f"Proposed to {proposal.firm}.")
            return redirect(proposal)
        except Refused as refusal:
            form.add_error("day_1", str(refusal))
    return render(request, "machines/propose.html", {"shop": shop, "form": form})


def _wanted(request, shop, items):
    """What the form starts with: the work ticked, or the machine that is asked for and why, and the
    first three days on which the shop is open, or from the one that was chosen."""
    machine = shop.machines.filter(pk=whole_number(request.GET.get("machine", ""))).first()
    planned = "Planned checks" if items else ""
    first = {
        "work": request.GET.getlist("work"),
        "purpose": visit_planning.trouble_of(machine) if machine else planned,
    }
    if request.GET.get("day"):
        return first | {"day_1": request.GET["day"]}
    days = services.first_open_days(shop, DAYS_OFFERED)
    return first | {f"day_{number}": day for number, day in enumerate(days, start=1)}


def plan_visit(request, pk):
    """The contractor plans a visit to a shop, with the due work to do at it."""
    shop = find(Shop.objects, request.user, pk=pk)
    demand(request.user, shop, CONTRACTOR)
    items = visit_planning.open_items(shop)
    form = VisitAheadForm(
        request.POST or None,
        work=visit_planning.choices_of(items),
        initial={
            "work": request.GET.getlist("work"),
            "purpose": request.GET.get("purpose") or ("Planned checks" if items else ""),
            "day": request.GET.get("day"),
        },
    )
    if form.is_valid():
        given = form.cleaned_data
        try:
            firm = place_at(request.user, shop.pk).firm
            visit = visit_planning.plan_visit(
                shop=shop,
                firm=firm,
                told=told_in(form, firm),
                contractor=request.user,
                purpose=given["purpose"],
                slot=given["slot"],
                pairs=visit_planning.chosen(items, given.get("work", [])),
                made_by=request.user,
                entry_id=given["entry_id"],
            )
            messages.success(request, f"{visit} is planned for {given['slot'].in_words}.")
            warn(request, visit)
            return redirect(visit)
        except Refused as refusal:
            form.add_error("day", str(refusal))
    return render(request, "machines/plan_visit.html", {"shop": shop, "form": form})


@require_safe
def proposal(request, pk):
    """One proposal: the days, the checks wanted, what was answered, and the answer to give."""
    found = find(PROPOSALS, request.user, pk=pk)
    return _page(request, found)


def _page(request, found, **forms):
    role = role_at(request.user, found.shop)
    state = Proposal.State
    context = {
        "proposal": found,
        "days": visit_planning.days_of(found, request.user) if found.is_open else [],
        "wanted": found.wanted.select_related("plan", "machine"),
        "steps": found.steps.select_related("made_by"),
        "may_answer": role == Role.CONTRACTOR and found.state == state.WITH_CONTRACTOR,
        "agreed_form": AgreedForm(shop=found.shop, prefix="agreed"),
        "may_say_agreed": role == Role.CONTRACTOR and found.state == state.WITH_OWNER,
        "may_agree": role == Role.OWNER and found.state == state.WITH_OWNER,
        "may_withdraw": role == Role.OWNER and found.is_open,
        "move_form": SlotForm(prefix="move"),
        "decline_form": ReasonForm(prefix="decline"),
    }
    return render(request, "machines/proposal.html", context | forms)


@require_POST
def answer(request, pk):
    """Accept, move, decline, agree to or withdraw a proposal."""
    found = find(PROPOSALS, request.user, pk=pk)
    handler = ANSWERS.get(request.POST.get("answer"))
    if handler is None:
        raise Http404("no such answer")
    roles, act = handler
    demand(request.user, found.shop, roles)
    try:
        return act(request, found)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect(found)


def _accept(request, found):
    pk = request.POST.get("day", "")
    day = found.days.filter(pk=whole_number(pk), by_contractor=False).first()
    if day is None:
        raise Refused("Choose one of the days that suit.")
    visit = visit_planning.accept(found, day=day, made_by=request.user)
    return _planned(request, visit)


def _agree(request, found):
    return _planned(request, visit_planning.agree(found, made_by=request.user))


def _agreed(request, found):
    """The owner agreed and told the contractor, who writes it down."""
    form = AgreedForm(request.POST, shop=found.shop, prefix="agreed")
    if not form.is_valid():
        return _page(request, found, agreed_form=form)
    firm = place_at(request.user, found.shop_id).firm
    if firm != found.firm:
        raise PermissionDenied
    visit = visit_planning.agree(found, made_by=request.user, told=told_in(form, firm))
    return _planned(request, visit)


def _planned(request, visit):
    messages.success(request, f"{visit} is planned for {services.slot_of(visit).in_words}.")
    warn(request, visit)
    return redirect(visit)


def _move(request, found):
    form = SlotForm(request.POST, prefix="move")
    if form.is_valid():
        given = form.cleaned_data
        try:
            services.move(found, slot=given["slot"], reason=given["reason"], made_by=request.user)
            messages.success(request, f"{given['slot'].in_words} is proposed to {found.shop}.")
            return redirect(found)
        except Refused as refusal:
            form.add_error("day", str(refusal))
    return _page(request, found, move_form=form)


def _decline(request, found):
    form = ReasonForm(request.POST, prefix="decline")
    if not form.is_valid():
        return _page(request, found, decline_form=form)
    services.decline(found, reason=form.cleaned_data["reason"], made_by=request.user)
    messages.success(request, f"Declined; {found.shop} reads why.")
    return redirect(found)


def _withdraw(request, found):
    services.withdraw(found, reason=request.POST.get("reason", ""), made_by=request.user)
    messages.success(request, "The proposal is withdrawn.")
    return redirect("shop:calendar")


OWNER = frozenset({Role.OWNER})
ANSWERS = {
    "accept": (CONTRACTOR, _accept),
    "move": (CONTRACTOR, _move),
    "decline": (CONTRACTOR, _decline),
    "agree": (OWNER, _agree),
    "agreed": (CONTRACTOR, _agreed),
    "withdraw": (OWNER, _withdraw),
}


@require_safe
def trips(request):
    """Over all shops served: which due work could be done in the same visit."""
    served = request.user.memberships.current().filter(role__in=DESK)
    shops = Shop.objects.filter(pk__in=served.values("shop"))
    asked = request.GET.get("weeks", "")
    weeks = whole_number(asked)
    weeks = weeks if weeks in EARLY_CHOICES else USUAL_WEEKS
    number = max(whole_number(request.GET.get("page", "")) or 1, 1)
    first = (number - 1) * TRIPS_ON_PAGE
    dues = visit_planning.dues_to_plan(shops)
    found = visit_planning.shop_trips(shops, dues, 7 * weeks, first=first, most=TRIPS_ON_PAGE + 1)
    ahead = timedelta(days=visit_planning.DAYS_AHEAD)
    soon = [trip for trip in found if trip.on <= trip.shop.today + ahead]
    return render(
        request,
        "machines/trips.html",
        {
            "page": OpenPage(soon[:TRIPS_ON_PAGE], number, len(soon) > TRIPS_ON_PAGE),
            "weeks": weeks,
            "choices": EARLY_CHOICES,
            "work": dues.count(),
            "plans_visits": set(served.filter(role=Role.CONTRACTOR).values_list("shop", flat=True)),
        },
    )
