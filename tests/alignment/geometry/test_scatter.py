"""When a stated uncertainty is believed."""

import numpy as np
import pytest

from alignment.geometry.measure.scatter import reading_uncertainty


@pytest.mark.parametrize(
    ("residual", "dof", "stated", "u", "dof_u"),
    [
        (1.0, 1, 1.0, 1.0, np.inf),
        (1.9, 1, 1.0, 1.0, np.inf),  # 3.61 stays below the chi-square of 3.84
        (2.0, 1, 1.0, 2.0, 1),
        (2.0, 1, 0.0, 2.0, 1),
        (0.0, 0, 1.5, 1.5, np.inf),
        (0.0, 0, 0.0, np.inf, 0),
    ],
)
def test_a_statement_holds_until_the_residuals_refute_it(residual, dof, stated, u, dof_u):
    found = reading_uncertainty(np.array([[residual]]), dof, np.array([stated]))
    assert (found[0][0], found[1][0]) == pytest.approx((u, dof_u))
