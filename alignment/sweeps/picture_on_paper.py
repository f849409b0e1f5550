"""The picture of a machine in a service report, as seen at its visit."""

from alignment.figures.machine import KEY, SIZES
from machines.register.report import visited
from shop.paper.documents import figure
from shop.paper.documents.blocks import TALLEST_FIGURE
from shop.paper.documents.styles import TEXT_WIDTH
from shop.paper.palettes import PRINT

from .machine_pictures import machine_figures

# No text on paper is smaller, in points; a taller picture is drawn without its end views.
SMALLEST_PT = 7


def pictures(report):
    """A flowable for each machine visited, in the order they were taken up; gathered once."""
    return [
        figure(one.drawing(PRINT, size_for(one)), f"Machine {one.name}. {KEY}", width=TEXT_WIDTH)
        for one in report.once(_figures)
    ]


def size_for(one, width=TEXT_WIDTH):
    """The size of a `MachineFigure` whose text stays legible on a page ``width`` points wide."""
    form, layout = SIZES["wide"], one.layout("wide")
    scale = min(width / layout.width, TALLEST_FIGURE / layout.height)
    return "wide" if form.font * scale >= SMALLEST_PT else "wide-plain"


def _figures(report):
    machines = [here.machine for here in report.once(visited)]
    found = machine_figures(machines, report.unit, report.visit)
    return [found[machine.pk] for machine in machines]
