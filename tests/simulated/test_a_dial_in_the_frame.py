"""The frame against a lathe in three dimensions: what a dial shows is told where it truly is."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from alignment.geometry.frame import View
from alignment.geometry.measure.axis import fit_axis
from alignment.geometry.measure.sweep import fit_sweep
from tests.simulated.lathe import Indicator, Lathe

ANGLES = [0, 90, 180, 270]
offsets = st.floats(-80, 80)
leans = st.floats(-60, 60)
holders = st.sampled_from(["datum", "station"])
looks = st.sampled_from(["from the headstock", "to the headstock"])
sides = st.sampled_from(["left", "right"])


@st.composite
def lathes(draw):
    lathe = Lathe(draw(sides))
    lathe.put("headstock", 0, 0)
    lathe.put("datum", draw(offsets), draw(offsets), draw(leans), draw(leans), 120)
    lathe.put("station", draw(offsets), draw(offsets), draw(leans), draw(leans), 200)
    return lathe


def looking(holder, look, **how):
    """(the indicator, what carries it, what it sweeps)."""
    carrier = "datum" if holder == "datum" else "station"
    swept = "station" if holder == "datum" else "datum"
    return Indicator(look == "from the headstock", **how), carrier, swept


@given(lathes(), holders, looks, st.sampled_from(["bore", "boss"]), st.floats(-30, 0))
@settings(max_examples=150, deadline=None)
def test_a_sweep_says_where_the_station_stands(lathe, holder, look, surface, sag):
    indicator, carrier, swept = looking(holder, look, sag_um=sag, lever_deg=20)
    shown = indicator.sweep(lathe, carrier, swept, 160, ANGLES, surface=surface)
    fit = fit_sweep(ANGLES, shown, surface=surface, sag_um=sag, lever_deg=20)
    view = View(holder, look, lathe.headstock_side)
    front, up, _, _ = view.signs
    told = (front * fit.right_um, up * fit.up_um)
    assert told == pytest.approx(lathe.truth("station", "datum", 160), abs=0.2)


@given(lathes(), holders, looks)
@settings(max_examples=100, deadline=None)
def test_two_planes_say_how_the_station_leans(lathe, holder, look):
    indicator, carrier, swept = looking(holder, look)
    # z grows away from the indicator, which stands before the nearer plane.
    planes = (140, 200) if look == "from the headstock" else (200, 140)
    sweeps = [
        fit_sweep(ANGLES, indicator.sweep(lathe, carrier, swept, at, ANGLES)) for at in planes
    ]
    axis = fit_axis([0, 60], sweeps)
    _, _, front, up = View(holder, look, lathe.headstock_side).signs
    told = (front * axis.slope_right_um_per_100mm, up * axis.slope_up_um_per_100mm)
    assert told == pytest.approx(lathe.lean("station", "datum"), abs=0.5)


@given(lathes(), holders, looks)
@settings(max_examples=100, deadline=None)
def test_a_face_square_to_its_axis_says_how_the_station_leans(lathe, holder, look):
    indicator, carrier, swept = looking(holder, look)
    shown = indicator.sweep(lathe, carrier, swept, 160, ANGLES, surface="face", radius_mm=40)
    face = fit_sweep(ANGLES, shown, surface="boss")
    _, _, front, up = View(holder, look, lathe.headstock_side).signs
    told = (front * face.right_um * 100 / 40, up * face.up_um * 100 / 40)
    assert told == pytest.approx(lathe.lean("station", "datum"), abs=0.5)


@given(lathes(), holders, looks, offsets, offsets, leans, leans)
@settings(max_examples=100, deadline=None)
def test_the_dial_of_any_plane_shows_what_a_move_and_a_tilt_do(
    lathe, holder, look, front, up, lean_front, lean_up
):
    """The far plane, 60 mm further from the indicator than the one the move is told for."""
    indicator, carrier, swept = looking(holder, look)
    near, far = (140, 200) if look == "from the headstock" else (200, 140)

    def centre():
        fit = fit_sweep(ANGLES, indicator.sweep(lathe, carrier, swept, far, ANGLES))
        return np.array([fit.right_um, fit.up_um])

    before = centre()
    stands, leans_by = lathe.truth("station", "headstock", near), lathe.lean("station", "headstock")
    lathe.put(
        "station",
        stands[0] + front,
        stands[1] + up,
        leans_by[0] + lean_front,
        leans_by[1] + lean_up,
        near,
    )
    view = View(holder, look, lathe.headstock_side)
    assert centre() - before == pytest.approx(
        view.dial_shift(front, up, lean_front, lean_up, 60), abs=0.5
    )
