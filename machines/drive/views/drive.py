"""Pages of the drive train: what it is made of, and each belt, bearing and assembly."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from machines.drive import describe
from machines.drive.bearing_looks import sentence_of
from machines.drive.belt_looks import BeltLook, last_looks
from machines.drive.forms import AssemblyForm, BearingForm, BeltForm, RebuildForm
from machines.drive.lives import life_used_by, lives_of
from machines.drive.models import Assembly, Bearing, Belt
from machines.drive.services import note_rebuild, remove_place
from machines.register.meters import meter_totals
from machines.register.models import Machine
from shop.people.access import DESK, demand, find, role_at
from shop.people.editing import editing, stamped
from shop.snapshots import with_generation
from shop.snapshots.pages import standing_as_read
from shop.visits.access import visit_named
from shop.visits.models import Visit
from shop.web.errors import Refused
from shop.web.idempotency import sent_once, with_id

MACHINES = Machine.objects.select_related("shop").with_stop_state()
AS_READ = with_generation(MACHINES)
BELTS = Belt.objects.select_related("machine__shop", "part", "partner")
BEARINGS = Bearing.objects.select_related("machine__shop", "part", "assembly")
ASSEMBLIES = Assembly.objects.select_related("machine__shop")
LOOKS_SHOWN = 10


@require_safe
def drive(request, pk):
    """The drive train of a machine, and whether the guide bushing turns with the spindle."""
    machine = find(AS_READ, request.user, pk=pk)
    standing = standing_as_read(machine, machine.shop)
    context = standing.keep(lambda: _drive_train(machine), "drive", machine.pk)
    may_edit = role_at(request.user, machine.shop) in DESK
    return render(request, "machines/drive.html", context | {"may_edit": may_edit})


def _drive_train(machine):
    looks = last_looks(machine.belts.select_related("part", "partner"), present_only=True)
    belts = [look.belt for look in looks]
    return {
        "machine": machine,
        "machine_url": machine.get_absolute_url(),
        "ratio": describe.turns_in_step(belts),
        "path": describe.path_of(belts),
        "belts": [
            (look, describe.belt_facts(look.belt), describe.belt_geometry_facts(look.belt))
            for look in looks
        ],
        "bearings": [
            (bearing, describe.bearing_facts(bearing))
            for bearing in machine.bearings.select_related("part", "assembly")
        ],
        "assemblies": [
            (assembly, describe.assembly_facts(assembly), list(assembly.rebuilds.all())[:1])
            for assembly in machine.assemblies.prefetch_related("rebuilds")
        ],
    }


@require_safe
def belt(request, pk):
    """One belt: what it is, what follows from its pulleys, its lives and its looks."""
    found = find(BELTS, request.user, pk=pk)
    return render(
        request,
        "machines/belt.html",
        _of(request, found)
        | {
            "facts": describe.belt_facts(found),
            "geometry": describe.belt_geometry_facts(found),
            "looks": [
                BeltLook(found, look)
                for look in found.inspections.not_superseded()
                .select_related("tension", "made_by")
                .prefetch_related("findings")
                .newest_first()[:LOOKS_SHOWN]
            ],
        },
    )


@require_safe
def bearing(request, pk):
    """One bearing: what it is, its defect frequencies, its rating life and what is used of it."""
    found = find(BEARINGS, request.user, pk=pk)
    shared = _of(request, found)
    return render(
        request,
        "machines/bearing.html",
        shared
        | {
            "used": life_used_by(found, shared["present"]),
            "facts": describe.bearing_facts(found),
            "columns": ["Damaged part", "Times the speed", "Hz at the typical speed"],
            "frequencies": describe.frequency_rows(found),
            "looks": [
                (look, sentence_of(look, request.user.length_unit))
                for look in found.inspections.not_superseded()
                .select_related("made_by")
                .newest_first()[:LOOKS_SHOWN]
            ],
        },
    )


def _of(request, place):
    """What the pages of a belt and of a bearing share: the machine, its lives, who may edit."""
    fittings = list(place.fittings.select_related("part", "visit", "removal"))
    lives = lives_of(place, fittings, meter_totals(place.machine), now=timezone.now())
    return {
        "place": place,
        "machine": place.machine,
        "machine_url": place.machine.get_absolute_url(),
        "may_edit": role_at(request.user, place.machine.shop) in DESK,
        "lives": lives,
        "present": next((life for life in lives if not life.is_over), None),
    }


@require_safe
def assembly(request, pk):
    """A guide bushing housing or jack shaft: its bearings and its rebuild record."""
    found = find(ASSEMBLIES, request.user, pk=pk)
    role = role_at(request.user, found.machine.shop)
    return render(
        request,
        "machines/assembly.html",
        {
            "assembly": found,
            "machine": found.machine,
            "machine_url": found.machine.get_absolute_url(),
            "facts": describe.assembly_facts(found),
            "bearings": found.bearings.select_related("part"),
            "rebuilds": found.rebuilds.select_related("visit", "made_by"),
            "may_edit": role in DESK,
            "visits_open": Visit.objects.worked_by(request.user)
            .unsigned()
            .filter(visited__machine=found.machine),
        },
    )


def rebuild(request, pk):
    """Note that a housing or jack shaft was taken apart, by itself or as part of a visit."""
    found = find(ASSEMBLIES, request.user, pk=pk)
    demand(request.user, found.machine.shop, DESK)
    visit = visit_named(request, found.machine.shop)
    form = RebuildForm(
        request.POST or None,
        assembly=found,
        initial={
            "rebuilt_on": found.machine.shop.today,
            "who": request.user.name,
        },
    )
    if form.is_valid():
        try:
            note_rebuild(
                assembly=found,
                made_by=request.user,
                visit=visit,
                **{"entry_id": form.cleaned_data["entry_id"], **form.account},
            )
            messages.success(request, f"The rebuild of the {found} is noted.")
            return redirect(visit or found)
        except Refused as refusal:
            form.add_error(None, str(refusal))
    return _form(request, form, found.machine, found, f"Record a rebuild of the {found}")


@sent_once
def new_belt(request, pk):
    return _new(request, pk, BeltForm, "Add belt")


@sent_once
def new_bearing(request, pk):
    return _new(request, pk, BearingForm, "Add bearing")


@sent_once
def new_assembly(request, pk):
    return _new(request, pk, AssemblyForm, "Add a housing or jack shaft")


@editing
def edit_belt(request, pk):
    return _edit(request, find(BELTS, request.user, pk=pk), BeltForm)


@editing
def edit_bearing(request, pk):
    return _edit(request, find(BEARINGS, request.user, pk=pk), BearingForm)


@editing
def edit_assembly(request, pk):
    return _edit(request, find(ASSEMBLIES, request.user, pk=pk), AssemblyForm)


@require_POST
def remove_belt(request, pk):
    return _remove(request, find(BELTS, request.user, pk=pk))


@require_POST
def remove_bearing(request, pk):
    return _remove(request, find(BEARINGS, request.user, pk=pk))


@require_POST
def remove_assembly(request, pk):
    return _remove(request, find(ASSEMBLIES, request.user, pk=pk))


def _remove(request, found):
    """Take off a machine what it does not have, such as a belt that only its kind has."""
    demand(request.user, found.machine.shop, DESK)
    try:
        remove_place(found)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect(found)
    messages.success(request, f"The {found} is removed.")
    return redirect("machines:drive", found.machine_id)


def _new(request, pk, form_class, title):
    machine = find(MACHINES, request.user, pk=pk)
    demand(request.user, machine.shop, DESK)
    form = with_id(form_class(request.POST or None, machine=machine, user=request.user))
    if form.is_valid():
        return redirect(form.save())
    return _form(request, form, machine, None, title)


def _edit(request, found, form_class):
    demand(request.user, found.machine.shop, DESK)
    form = form_class(
        request.POST or None, instance=found, machine=found.machine, user=request.user
    )
    stamped(request, form, found)
    if form.is_valid():
        return redirect(form.save())
    found.refresh_from_db()
    return _form(request, form, found.machine, found, f"Change the {found}")


def _form(request, form, machine, of, title):
    return render(
        request,
        "machines/drive_form.html",
        {
            "form": form,
            "machine": machine,
            "machine_url": machine.get_absolute_url(),
            "of": of,
            "title": title,
        },
    )
