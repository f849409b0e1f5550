"""How far a figure moved between two checks, with its uncertainty."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from alignment.geometry.measure.difference import Figured, difference

um = st.floats(-500, 500)
u_um = st.floats(0.01, 50)


def figured(value, right=0.0, up=0.0, u=1.0, k=2.0):
    return Figured(value, right, up, u, k)


def test_an_offset_that_went_round_moved_though_its_size_did_not():
    """5 µm at 12:00 and 5 µm at 3:00 lie √50 µm apart, by Pythagoras."""
    moved = difference(figured(5, 0, 5), figured(5, 5, 0), "offset")
    assert moved.value_um == pytest.approx(math.sqrt(50))
    assert (moved.front_um, moved.up_um) == (5, -5)


@pytest.mark.parametrize("quantity", ["front", "up", "tir", "tilt up"])
def test_any_other_figure_moved_by_what_it_gained(quantity):
    assert difference(figured(7), figured(4), quantity).value_um == -3


def test_uncertainties_add_in_squares():
    """JCGM 100:2008, 5.1.2, equation (10): for y = b − a, u² = u(a)² + u(b)²; 3, 4 give 5."""
    moved = difference(figured(0, u=3), figured(0, u=4), "front")
    assert (moved.u_um, moved.expanded_um) == (pytest.approx(5), pytest.approx(10, rel=1e-5))


def test_a_vector_that_did_not_move_is_held_against_a_circle():
    """The 95.45 % quantile of chi-squared with two degrees of freedom: √6.18 = 2.486 (exact)."""
    moved = difference(figured(0, u=3), figured(0, u=4), "offset")
    assert moved.expanded_um == pytest.approx(5 * 2.485977857111858, rel=1e-5)


def test_few_degrees_of_freedom_widen_it():
    """k = 3.31 stands for three degrees of freedom (JCGM 100, table G.2); two such checks have six
    together (G.4), and k = 2.52."""
    moved = difference(figured(0, k=3.3068), figured(0, k=3.3068), "up")
    assert moved.expanded_um == pytest.approx(2.52 * math.sqrt(2), abs=0.01)


def test_without_one_uncertainty_nothing_is_proven():
    moved = difference(figured(0, u=None), figured(90), "front")
    assert (moved.u_um, moved.expanded_um, moved.proven) == (None, None, None)


@pytest.mark.parametrize(("gained", "proven"), [(2.9, True), (2.8, False), (-2.9, True)])
def test_a_move_is_proven_when_it_is_past_its_expanded_uncertainty(gained, proven):
    """U = 2 µm twice: the square root of 8 is 2.83 µm."""
    assert difference(figured(0), figured(gained), "up").proven is proven


@given(um, um, um, um, u_um, u_um)
def test_there_and_back_is_the_same_way(right, up, later_right, later_up, u, later_u):
    there = figured(math.hypot(right, up), right, up, u)
    here = figured(math.hypot(later_right, later_up), later_right, later_up, later_u)
    one, back = difference(there, here, "offset"), difference(here, there, "offset")
    assert one.value_um == pytest.approx(back.value_um)
    assert one.expanded_um == pytest.approx(back.expanded_um)
    assert one.front_um == -back.front_um
