"""The dot of each end view stands where the simulated lathe's station does, whichever way the
indicator looked and at whichever hand the headstock stands."""

import numpy as np
import pytest
from reportlab.graphics.shapes import Circle

from alignment.figures.machine.end_view import DOT, FARTHEST
from alignment.sweeps.machine_pictures import machine_figure
from machines.register.models import Machine
from shop.paper.drawing import shapes
from shop.paper.palettes import LIGHT
from tests.simulated.site import PLANES, Site

ROUNDING = 0.35
VIEWS = [("datum", "from the headstock"), ("station", "to the headstock")]
PLUS = {"sub-spindle": ("rear", "up"), "gang tools": ("front", "down")}


def dots(drawing):
    """(x, y) of the dots of end views, in the order they are drawn: that of checking."""
    return [(one.cx, one.cy) for one in shapes(drawing) if isinstance(one, Circle) and one.r == DOT]


@pytest.mark.parametrize(("holder", "look"), VIEWS)
@pytest.mark.parametrize("headstock", ["left", "right"])
def test_the_dot_stands_where_the_station_does(
    client, visit, contractor, machine, holder, look, headstock
):
    off = dict(zip(PLANES, [(9, 4), (-9, 5), (8, -6), (-7, -8)], strict=True))
    contractor.length_unit = "um"
    contractor.save()
    client.force_login(contractor)
    views = dict.fromkeys(PLANES, (holder, look))
    here = Site(client, visit, machine, headstock, views, PLUS, off, (0, 0))
    for kind in PLANES:
        here.sweep(kind)

    figure = machine_figure(Machine.objects.get(pk=machine.pk), "um")

    marks = {mark.kind: mark for mark in figure.stations}
    layout = figure.layout("wide")
    centres = {cell.station.kind: cell.centre for cell in layout.cells}
    drawn = dict(zip(PLANES, dots(figure.drawing(LIGHT, "wide")), strict=True))
    # Somebody at the headstock who looks along the bar has the operator's side at his right hand
    # where the headstock stands at the operator's left.
    to_front = 1 if headstock == "left" else -1
    for kind in PLANES:
        front, up = here.truth(kind)
        view = marks[kind].view
        assert (view.front_um, view.up_um) == pytest.approx((front, up), abs=ROUNDING), kind
        assert ("to the front" if front > 0 else "to the rear") in marks[kind].told[0]
        assert (" up" if up > 0 else " down") in marks[kind].told[0]
        across = drawn[kind][0] - centres[kind][0]
        upwards = drawn[kind][1] - (layout.height - centres[kind][1])
        assert np.hypot(front, up) < FARTHEST * view.reach_um
        assert across / upwards == pytest.approx(to_front * front / up, rel=0.15), kind
        assert np.sign(across) == np.sign(to_front * front), kind
