"""Machines as they are made, copied, changed and listed in, by owners and contractors."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from alignment.register import station_services
from alignment.register.blueprint import of_kind, of_machine, outline_of
from alignment.register.forms import CopyForm, MachineForm, MachineListForm, NewMachineForm, OfShop
from alignment.register.kinds import keep_as_kind
from alignment.register.machine_list import MOST_MACHINES, template
from alignment.register.making import make_machines
from alignment.sweeps.pictures import drawing_response
from machines.kinds.catalogue import kinds_for
from machines.kinds.drawing import describe, machine_drawing
from machines.register.models import Machine
from shop.people.access import DESK, demand, find
from shop.people.editing import editing, stamped
from shop.people.models import Shop
from shop.web.errors import Refused
from shop.web.idempotency import sent_once, with_id
from shop.web.listing import whole_number

MACHINES = Machine.objects.select_related("shop").with_stop_state()
LIST_IN = "list_in"
ROWS_SHOWN = 50


def _shops(user):
    """The shops at which a person may make machines; 403 for nobody's."""
    current = user.memberships.current().filter(role__in=DESK)
    shops = Shop.objects.filter(pk__in=current.values("shop"))
    if not shops.exists():
        raise PermissionDenied("Owners and service contractors make machines.")
    return shops


def _shop_form(request, shops):
    """The choice of the shop, which `?shop=` makes already."""
    asked = whole_number(request.GET.get("shop", ""))
    if asked is not None:
        shops = shops.filter(pk=find(Shop.objects, request.user, pk=asked).pk)
    return OfShop(request.POST or None, shops=shops)


@sent_once
def new_machine(request):
    """Make a machine of a kind."""
    where = _shop_form(request, _shops(request.user))
    shop = where.cleaned_data["shop"] if where.is_valid() else None
    kinds = kinds_for(request.user)
    form = with_id(NewMachineForm(request.POST or None, shop=shop, kinds=kinds))
    ready = form.is_valid() and shop is not None
    if ready and (made := _made(request, form, shop, of_kind(form.chosen.kind))):
        return redirect(made)
    context = {"where": where, "form": form, "kinds": _drawn(kinds, form)}
    return render(request, "alignment/new_machine.html", context)


def _drawn(kinds, form):
    """Each kind with whether it is chosen and its drawing in words."""
    chosen = form["kind"].value()
    return [(one, one.slug == chosen, describe(one.kind)) for one in kinds]


def _made(request, form, shop, blueprint):
    """The machine; None when it was refused, which the form then says."""
    try:
        (machine,) = make_machines(shop, [(form.said(), blueprint)], made_by=request.user)
    except Refused as refusal:
        form.add_error("number", str(refusal))
        return None
    kind = blueprint.kind
    messages.success(
        request,
        f"Machine {machine} is on record with {len(kind.stations)} stations and "
        f"{len(kind.belts)} belts.",
    )
    return machine


@sent_once
def copy_machine(request, pk):
    """Make another machine of everything but serial number, history and scans."""
    machine = _machine_changed(request, pk)
    form = with_id(CopyForm(request.POST or None, machine=machine))
    if form.is_valid() and (made := _made(request, form, machine.shop, of_machine(machine))):
        return redirect(made)
    context = _at(machine) | {"form": form, "alt": describe(outline_of(machine))}
    return render(request, "alignment/copy_machine.html", context)


@editing
def change_machine(request, pk):
    """Change what a machine is called and what is known of it."""
    machine = _machine_changed(request, pk)
    form = MachineForm(request.POST or None, instance=find(MACHINES, request.user, pk=pk))
    stamped(request, form, machine)
    if form.is_valid() and _changed(form, machine):
        messages.success(request, "Saved.")
        return redirect(machine)
    return render(request, "alignment/change_machine.html", _at(machine) | {"form": form})


def _changed(form, machine):
    """Whether it was changed; a refusal is said at the box."""
    try:
        station_services.change_machine(machine, **form.changes())
    except Refused as refusal:
        form.add_error("headstock_side", str(refusal))
        return False
    return True


@require_POST
def keep_machine_as_kind(request, pk):
    """Keep a machine as a kind of the person's firm."""
    machine = find(MACHINES, request.user, pk=pk)
    firm = _firm_at(request.user, machine.shop)
    try:
        kept = keep_as_kind(machine, firm=firm, made_by=request.user)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect(machine)
    messages.success(request, f"Kept as a kind of {firm}: {kept}.")
    return redirect(kept)


def _firm_at(user, shop):
    """The firm a person works for at a shop; 403 for anybody else."""
    membership = user.memberships.current().select_related("firm").filter(shop=shop).first()
    if membership is None or membership.firm is None:
        raise PermissionDenied("A service firm keeps kinds of machine.")
    return membership.firm


@require_safe
def machine_picture(request, pk):
    """The machine drawn from what is on record of it."""
    machine = find(MACHINES, request.user, pk=pk)
    kind = outline_of(machine)
    return drawing_response(
        lambda palette: machine_drawing(kind, palette),
        str(machine),
        describe(kind),
        request.GET.get("palette"),
    )


@sent_once
def list_in(request):
    """List machines in as CSV: each line's fate is shown first, then all are made or none."""
    kinds = kinds_for(request.user)
    form = MachineListForm(
        request.POST or None,
        request.FILES or None,
        shops=_shops(request.user),
        kinds=kinds,
        initial={"shop": whole_number(request.GET.get("shop", ""))},
    )
    with_id(form)
    if not form.is_valid():
        return render(request, "alignment/list_in.html", {"form": form, "kinds": kinds})
    rows = form.cleaned_data["rows"]
    wrong = [row for row in rows if row.wrong]
    wanted = LIST_IN in request.POST and not wrong and len(rows) <= MOST_MACHINES
    if wanted and _all_made(request, form):
        return redirect("machines:machines")
    return render(request, "alignment/preview_machines.html", _fates(form, wrong))


def _all_made(request, form):
    """Whether the machines of a list are made; a refusal is said on the form."""
    shop = form.cleaned_data["shop"]
    wanted = [(row.said, row.blueprint) for row in form.cleaned_data["rows"]]
    try:
        made = make_machines(shop, wanted, made_by=request.user)
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return False
    messages.success(request, f"{len(made)} machines are on record at {shop}.")
    return True


def _fates(form, wrong):
    """What becomes of each line: those that are wrong where there are any, the first of many."""
    rows = form.cleaned_data["rows"]
    return {
        "form": form,
        "shop": form.cleaned_data["shop"],
        "count": len(rows),
        "wrong": wrong,
        "shown": (wrong or rows)[:ROWS_SHOWN],
        "hidden": max(len(wrong or rows) - ROWS_SHOWN, 0),
        "too_many": len(rows) > MOST_MACHINES,
        "most": MOST_MACHINES,
        "text": form.cleaned_data["text"],
    }


@require_safe
def list_template(request):
    """A list to fill in."""
    _shops(request.user)
    return HttpResponse(
        template(kinds_for(request.user)),
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": 'attachment; filename="machines.csv"'},
    )


def _at(machine):
    return {"machine": machine, "machine_url": machine.get_absolute_url()}


def _machine_changed(request, pk):
    """The machine, for somebody who may change it."""
    machine = find(MACHINES, request.user, pk=pk)
    demand(request.user, machine.shop, DESK)
    return machine
