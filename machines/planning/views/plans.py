"""Pages of plans: what is due, making and changing plans, done, skipped, taken back."""

from django.contrib import messages
from django.db import transaction
from django.http import Http404
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST, require_safe

from machines.planning import plans as services
from machines.planning.board import find_item
from machines.planning.due_page import DueFilter, DuePages, buckets_of, counts_of
from machines.planning.due_times import items_of, standing_dues
from machines.planning.models import Plan, PlanClosing
from machines.planning.plan_forms import STARTS, DoneForm, NewPlanForm, PlanForm, SkipForm, start_of
from machines.planning.tables import ClosingTable, DueTable, PlanTable
from machines.register.models import Machine
from shop.people.access import ANYONE, CONTRACTOR, DESK, demand, demand_work, find, role_at
from shop.people.editing import editing, stamped
from shop.people.models import Role, Shop
from shop.visits.access import visit_named
from shop.web.errors import Refused
from shop.web.listing import arrange, csv_of, wants_csv
from shop.web.wording import day_text

# What the records of a visit show as done.
CLOSED_BY_RECORDS = (Plan.Kind.ALIGNMENT, Plan.Kind.BELT, Plan.Kind.BEARING)
PLANS = Plan.objects.select_related("shop", "machine__shop", "made_by")


@require_safe
def what_is_due(request):
    """Everything that is due, over all the person's shops or some of it."""
    filters = DueFilter(request.GET or None, user=request.user)
    dues = filters.dues()
    if wants_csv(request):
        return csv_of(DueTable(items_of(dues)), "due")
    counts = counts_of(dues)
    page = DuePages(dues, sum(count for _bucket, count in counts)).get_page(request.GET.get("page"))
    plan_shops = _where(request, Role.OWNER, Role.CONTRACTOR)
    return render(
        request,
        "machines/due.html",
        {
            "filters": filters,
            "page": page,
            "buckets": buckets_of(page),
            "counts": counts,
            "plan_shops": plan_shops,
            "desk": {shop.pk for shop in plan_shops},
            "works_for_shops": bool(_where(request, Role.CONTRACTOR)),
        },
    )


def _where(request, *roles):
    """The shops where the person has one of `roles`."""
    current = request.user.memberships.current().filter(role__in=roles)
    return list(Shop.objects.filter(pk__in=current.values("shop")))


@require_safe
def plan_list(request):
    """Every plan of the person's shops."""
    plans = PLANS.visible_to(request.user).running()
    table = arrange(request, PlanTable(plans))
    if wants_csv(request):
        return csv_of(table, "plans")
    shops = _where(request, Role.OWNER, Role.CONTRACTOR)
    return render(request, "machines/plans.html", {"table": table, "plan_shops": shops})


def new_plan(request, pk):
    """Put a plan on record for machines of a shop, or for a model."""
    shop = find(Shop.objects, request.user, pk=pk)
    demand(request.user, shop, DESK)
    today = shop.today
    machines = Machine.objects.filter(shop=shop).in_service(today).order_by("number")
    form = NewPlanForm(
        request.POST or None,
        machines=machines,
        today=today,
        start=STARTS.get(request.GET.get("start")),
        initial={"targets": [f"machine|{request.GET.get('machine', '')}"]},
    )
    if form.is_valid():
        try:
            count = _make_plans(form, shop, request.user)
            messages.success(request, f"{count} plan{'' if count == 1 else 's'} made.")
            return redirect("machines:due")
        except Refused as refusal:
            form.add_error(None, str(refusal))
    return render(
        request,
        "machines/plan_form.html",
        {"form": form, "shop": shop, "starts": STARTS, "any_machine": machines.exists()},
    )


@transaction.atomic
def _make_plans(form, shop, user):
    """One plan for each target ticked; the form sent twice makes them once."""
    chosen = list(form.chosen())
    for number, (machine, model_name) in enumerate(chosen):
        services.make_plan(
            shop=shop,
            machine=machine,
            model_name=model_name,
            made_by=user,
            subjects=form.cleaned_data["subjects"],
            entry_id=form.entry_id_of(number),
            **form.plan_fields(),
        )
    return len(chosen)


@require_safe
def plan(request, pk):
    """One plan: what is done and when, where it is due, and what became of it before."""
    found = find(PLANS.prefetch_related("subjects"), request.user, pk=pk)
    role = role_at(request.user, found.shop)
    closings = found.closings.select_related("machine__shop", "visit", "made_by")
    table = arrange(request, ClosingTable(closings))
    if wants_csv(request):
        return csv_of(table, f"plan-{found.pk}")
    dues = standing_dues(Shop.objects.filter(pk=found.shop_id)).next_times()
    return render(
        request,
        "machines/plan.html",
        {
            "plan": found,
            "machine": found.machine,
            "items": items_of(dues.filter(plan=found)),
            "table": table,
            "desk": {found.shop_id} if role in DESK else set(),
            "may_change": role in DESK and found.ended_at is None,
        },
    )


@editing
def change_plan(request, pk):
    """Change what a plan says from now on."""
    found = find(PLANS, request.user, pk=pk)
    demand(request.user, found.shop, DESK)
    machines = Machine.objects.filter(shop=found.shop)
    if found.machine_id:
        machines = machines.filter(pk=found.machine_id)
    else:
        machines = machines.filter(model_name=found.model_name)
    form = PlanForm(
        request.POST or None,
        machines=machines,
        today=found.shop.today,
        start=start_of(found),
    )
    stamped(request, form, found, parts=[found.subjects.all()])
    if form.is_valid():
        try:
            services.change_plan(
                found, subjects=form.cleaned_data["subjects"], **form.plan_fields()
            )
            return redirect(found)
        except Refused as refusal:
            form.add_error(None, str(refusal))
    return render(
        request, "machines/plan_form.html", {"form": form, "plan": found, "machine": found.machine}
    )


def end_plan(request, pk):
    """Nothing falls due of it any longer."""
    found = find(PLANS, request.user, pk=pk)
    demand(request.user, found.shop, DESK)
    if request.method == "POST":
        services.end_plan(found, by=request.user)
        messages.success(request, f"{found} is planned no longer for {found.whose}.")
        return redirect("machines:due")
    return render(request, "machines/end_plan.html", {"plan": found, "machine": found.machine})


def done(request, pk, machine_pk):
    """Mark what is due as done."""
    found, machine = _plan_and_machine(request, pk, machine_pk)
    demand(request.user, found.shop, ANYONE)
    visit = visit_named(request, machine.shop)
    form = DoneForm(request.POST or None, zone=machine.shop.zone, initial={"at": timezone.now()})
    if form.is_valid() and _closed(request, form, services.mark_done, found, machine, visit=visit):
        return redirect(_back(request, visit))
    return _closing_page(request, "machines/plan_done.html", found, machine, visit, form)


def skip(request, pk, machine_pk):
    """Close what is due without doing it, with the reason."""
    found, machine = _plan_and_machine(request, pk, machine_pk)
    demand(request.user, found.shop, DESK)
    visit = visit_named(request, machine.shop)
    form = SkipForm(request.POST or None)
    if form.is_valid() and _closed(request, form, services.skip, found, machine, visit=visit):
        return redirect(_back(request, visit))
    return _closing_page(request, "machines/plan_skip.html", found, machine, visit, form)


def _plan_and_machine(request, pk, machine_pk):
    found = find(PLANS.prefetch_related("subjects"), request.user, pk=pk)
    machine = find(Machine.objects.select_related("shop"), request.user, pk=machine_pk)
    if not Plan.objects.for_machine(machine).filter(pk=found.pk).exists():
        raise Http404("this plan says nothing of that machine")
    return found, machine


def _closed(request, form, service, plan, machine, **more):
    try:
        closing = service(plan, machine, made_by=request.user, **more, **form.cleaned_data)
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return False
    item = find_item(plan, machine)
    following = f" Next on {day_text(item.due.on)}." if item and item.due.on else ""
    messages.success(request, f"{plan}, machine {machine.number}: {closing.outcome}.{following}")
    return True


def _back(request, visit):
    back = request.GET.get("back", "")
    if back and url_has_allowed_host_and_scheme(back, allowed_hosts=None):
        return back
    return visit or "machines:due"


def _closing_page(request, template, plan, machine, visit, form):
    context = {
        "plan": plan,
        "machine": machine,
        "visit": visit,
        "form": form,
        "item": find_item(plan, machine),
        "closed_by_records": plan.kind in CLOSED_BY_RECORDS,
    }
    return render(request, template, context)


@require_POST
def reopen_plan(request, pk):
    """Undo a closing entered by mistake."""
    found = find(
        PlanClosing.objects.select_related("plan", "machine__shop", "visit"), request.user, pk=pk
    )
    demand(request.user, found.machine.shop, DESK)
    if found.visit and role_at(request.user, found.machine.shop) in CONTRACTOR:
        demand_work(request.user, found.visit)
    try:
        services.reopen_plan(found, by=request.user)
        messages.success(request, "Undone; it is due as it was before.")
    except Refused as refusal:
        messages.error(request, str(refusal))
    return redirect(found.plan)
