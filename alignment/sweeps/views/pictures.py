"""The picture of a machine as an image of its own."""

from django.http import HttpResponse
from django.views.decorators.http import require_GET

from alignment.figures.machine import SIZES
from alignment.sweeps.machine_pictures import machine_figure
from machines.register.views.floor import AS_READ
from shop.paper.drawing import to_svg
from shop.paper.palettes import PALETTES
from shop.people.access import find
from shop.snapshots.pages import standing_as_read
from shop.visits.models import Visit
from shop.web.listing import whole_number


@require_GET
def drawn_machine(request, pk):
    """A machine as it stands today, or with `?visit=` as seen at one that worked on it.

    `?size=` is one of SIZES and `?palette=` one of PALETTES; what is none of them is the first.
    """
    machine = find(AS_READ, request.user, pk=pk)
    visit = None
    if asked := request.GET.get("visit", ""):
        visits = Visit.objects.filter(visited__machine=machine).select_related("shop")
        visit = find(visits, request.user, pk=whole_number(asked))
    size = _one_of(SIZES, request.GET.get("size"))
    palette = _one_of(PALETTES, request.GET.get("palette"))
    unit = request.user.length_unit

    def drawn():
        figure = machine_figure(machine, unit, visit)
        return to_svg(figure.drawing(PALETTES[palette], size), figure.name, figure.describe())

    standing = standing_as_read(machine, machine.shop)
    about = (machine.pk, visit and visit.pk, size, palette, unit)
    return HttpResponse(
        standing.keep(drawn, "drawn machine", *about),
        content_type="image/svg+xml",
        headers={"Cache-Control": "private, no-cache"},
    )


def _one_of(known, asked):
    return asked if asked in known else next(iter(known))
