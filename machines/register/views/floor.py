"""Machines as they stand on the floor: the list, a machine's page, stop and go."""

from django.conf import settings
from django.shortcuts import render
from django.views.decorators.http import require_safe

from machines.register.models import Machine
from machines.register.tables import MachineTable
from shop.hooks import from_above, panels
from shop.hooks import history as history_of
from shop.people.access import CONTRACTOR, DESK, find, owns, role_at
from shop.people.models import Shop
from shop.snapshots import standing_of_all, with_generation
from shop.snapshots.pages import standing_as_read
from shop.web.listing import arrange, csv_of, wants_csv

MACHINES = Machine.objects.select_related("shop").with_stop_state()
AS_READ = with_generation(MACHINES)
EVENTS_ON_MACHINE_PAGE = 10
# Where a panel stands on a machine's page.
PLACES = ("middle", "beside", "folded")


@require_safe
def machines(request):
    """Every machine of the person's shops."""
    rows = MACHINES.with_last_visit().visible_to(request.user)
    table = arrange(request, MachineTable(rows))
    if wants_csv(request):
        return csv_of(table, "machines")
    table.pictures = _small_pictures(request.user, [row.record for row in table.paginated_rows])
    places = list(request.user.memberships.current().select_related("shop"))
    context = {
        "table": table,
        "owned": [place.shop for place in places if place.acts_as_owner_of(place.shop)],
        "may_make": any(place.role in DESK for place in places),
    }
    return render(request, "machines/machines.html", context)


@require_safe
def machine(request, pk):
    """One machine: may it run, what it is, what each app says of it, and what happened last."""
    found = find(AS_READ, request.user, pk=pk)
    standing = standing_as_read(found, found.shop)
    role = role_at(request.user, found.shop)
    return render(
        request,
        "machines/machine.html",
        {
            **standing.keep(lambda: _on_record(found), "machine", found.pk),
            "machine": found,
            **{place: _panels(place, found, request) for place in PLACES},
            "may_release": role in DESK,
            "may_open_visit": role in CONTRACTOR,
            "may_hand_over": owns(request.user, found.shop),
        },
    )


def _small_pictures(user, shown):
    """Machine pk to its small picture, kept until something changes at a shop of the person's."""
    standing = standing_of_all(Shop.objects.visible_to(user))
    keys = tuple(one.pk for one in shown)
    return standing.keep(lambda: from_above("small pictures")(shown), "small pictures", *keys)


def _panels(place, machine, request):
    paths = [path for path, where in settings.MACHINE_PANELS.items() if where == place]
    return panels(paths, machine, request)


def _on_record(machine):
    stop = machine.standstills.filter(ended_at=None).select_related("incident__made_by").first()
    return {
        "stop": stop,
        "axes": list(machine.axes.all()),
        "events": history_of(machine, limit=EVENTS_ON_MACHINE_PAGE),
        "break": machine.breaks.filter(back_on=None).select_related("made_by").first(),
    }
