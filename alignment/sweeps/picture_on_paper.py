"""The picture of a machine in a service report, as seen at its visit."""

from alignment.figures.machine import KEY, SIZES
from shop.paper.documents import figure
from shop.paper.documents.blocks import TALLEST_FIGURE
from shop.paper.documents.styles import TEXT_WIDTH
from shop.paper.palettes import PRINT

from .machine_pictures import machine_figures
from .report import chains

# No text on paper is smaller, in points; a taller picture is drawn without its end views.
SMALLEST_PT = 7
# How wide a smaller picture is, as shares of the text's width.
WITH_VIEWS = 0.73
WITHOUT_VIEWS = (1, 0.87, 0.73)


def pictures(report):
    """A flowable for each machine visited, in the order they were taken up; gathered once."""
    return [
        figure(one.drawing(PRINT, size_for(one)), f"Machine {one.name}. {KEY}", width=TEXT_WIDTH)
        for one in report.once(_figures)
    ]


def pictures_by_room(report):
    """For each machine visited the same picture in several sizes, the one that says most first."""
    return [list(_by_room(one)) for one in report.once(_figures)]


def _by_room(one):
    """With its end views as long as their text stays legible; then without, ever smaller."""
    for share in (1, WITH_VIEWS):
        if size_for(one, share * TEXT_WIDTH) == "wide":
            yield _figure(one, "wide", f"Machine {one.name}. {KEY}", share)
    for share in WITHOUT_VIEWS:
        yield _figure(one, "wide-plain", f"Machine {one.name}. Not to scale.", share)


def _figure(one, size, caption, share):
    return figure(one.drawing(PRINT, size), caption, width=share * TEXT_WIDTH)


def size_for(one, width=TEXT_WIDTH):
    """The size of a `MachineFigure` whose text stays legible on a page ``width`` points wide."""
    form, layout = SIZES["wide"], one.layout("wide")
    scale = min(width / layout.width, TALLEST_FIGURE / layout.height)
    return "wide" if form.font * scale >= SMALLEST_PT else "wide-plain"


def _figures(report):
    at_hand = report.once(chains)
    machines = [machine for machine, _ in at_hand]
    by_pk = {machine.pk: chain for machine, chain in at_hand}
    found = machine_figures(machines, report.unit, report.visit, chains=by_pk)
    return [found[machine.pk] for machine in machines]
