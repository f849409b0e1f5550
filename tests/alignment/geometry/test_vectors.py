"""The size of a vector, and what is known of it."""

import numpy as np
import pytest

from alignment.geometry.vectors import region_factor, scaled_covariance, size_uncertainty

LONG = np.array([[9.0, 0.0], [0.0, 1.0]])


def _u(vector, covariance, dof_u=np.inf):
    return size_uncertainty([vector], np.array([covariance]), np.array([dof_u]))[0]


def test_a_clear_vector_is_as_uncertain_as_its_own_direction():
    assert _u([0, 100], LONG) == pytest.approx(1)
    assert _u([100, 0], LONG) == pytest.approx(3)


def test_a_vector_near_zero_takes_the_worst_direction():
    assert _u([0, 1], LONG) == pytest.approx(3)


def test_few_degrees_of_freedom_make_less_of_a_vector_clear():
    assert _u([0, 20], LONG) == pytest.approx(1)
    assert _u([0, 20], LONG, dof_u=1) == pytest.approx(3)


def test_an_unknown_covariance_leaves_the_size_unknown():
    unknown = scaled_covariance(np.eye(2), np.array([np.inf]))[0]
    assert _u([0, 100], unknown, dof_u=0) == np.inf


def test_a_region_needs_a_probability():
    with pytest.raises(ValueError, match="between 0 and 1"):
        region_factor(5, 1.0)
