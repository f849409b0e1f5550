"""Figures shown as finely as they are known."""

import math
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.lengths import UM_PER_UNIT, parse_length
from shop.rounding import places_for, rounded, stated_in

INCH = 25_400


@pytest.mark.parametrize(
    ("inches", "u", "tolerance", "shown"),
    [
        (0.00014, 0.000046, 0.0004, "0.00014 in"),
        (0.000046, 0.000046, 0.0004, "0.00005 in"),
        (0.00078, 0.0001, 0.0006, "0.0008 in"),
        (0.00078, None, 0.0006, "0.00078 in"),
        (0.0123, 0.002, 0.0004, "0.0123 in"),
    ],
)
def test_a_figure_in_inches_ends_where_its_uncertainty_begins(inches, u, tolerance, shown):
    """Worked out by hand from the rule of GUM 7.2.6 that the docstring states."""
    u_um = u and u * INCH
    assert rounded(inches * INCH, "in", u_um=u_um, tolerance_um=tolerance * INCH) == shown


@pytest.mark.parametrize(
    ("um", "u_um", "tolerance_um", "shown"),
    [(6.35, 1.2, 10, "0.006 mm"), (6.35, None, 10, "0.006 mm"), (40, 0.7, 10, "0.0400 mm")],
)
def test_a_quarter_of_a_thou_is_not_told_to_ten_nanometres(um, u_um, tolerance_um, shown):
    assert rounded(um, "mm", u_um=u_um, tolerance_um=tolerance_um) == shown


@pytest.mark.parametrize("unknown", [None, 0, math.inf, math.nan])
def test_what_is_not_known_does_not_decide(unknown):
    assert places_for("mm", u_um=unknown, tolerance_um=unknown) == 4


@pytest.mark.parametrize("um", [None, math.inf, math.nan])
def test_a_figure_that_is_not_known_says_so(um):
    assert rounded(um, "mm") == "not known"


def test_another_unit_is_refused():
    with pytest.raises(ValueError, match="in, mm or um"):
        places_for("cm", u_um=1)


SIZE = st.floats(0.01, 5000)


@settings(max_examples=200)
@given(st.floats(-5000, 5000), SIZE, SIZE, st.sampled_from(["in", "mm", "um"]))
def test_what_is_left_off_is_less_than_the_uncertainty_or_the_tolerance(value, u, tolerance, unit):
    text = rounded(value, unit, u_um=u, tolerance_um=tolerance, with_unit=False)
    lost = abs(float(parse_length(text, unit)) - value)
    finest = 0.5 * 10.0 ** -places_for(unit) * float(UM_PER_UNIT[unit])
    assert lost <= max(0.5 * u, finest) + 1e-6


@pytest.mark.parametrize(
    ("lengths", "unit"),
    [
        (["10.16"], "in"),
        (["10"], "mm"),
        (["12.7", "5.08", None], "in"),
        (["8", "12.7", "20"], "mm"),
        ([], None),
    ],
)
def test_a_sheet_tells_its_unit_by_its_figures(lengths, unit):
    assert stated_in([Decimal(um) for um in lengths if um is not None]) == unit


@given(st.integers(1, 200), st.sampled_from(["in", "mm"]))
def test_round_figures_of_either_unit_are_known_again(count, unit):
    """A tolerance of a whole number of ten-thousandths of an inch, or of micrometres below 0.2 mm;
    127 µm is both 0.005 in and 0.127 mm, and inches say it in fewer digits."""
    um = count * (Decimal("2.54") if unit == "in" else Decimal(1))
    assert stated_in([um]) in (unit, None, "in" if um % Decimal("12.7") == 0 else unit)
