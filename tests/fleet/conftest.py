"""A small fleet to try things on."""

from datetime import UTC, datetime

import pytest

from shop.sandbox.synthetic_data import Asked, make_fleet

NOW = datetime(2025, 3, 4, 12, tzinfo=UTC)


@pytest.fixture
def fleet(db):
    """Eight machines at two shops over two years."""
    return make_fleet(Asked(machines=8, years=2, seed=5, shops=2), NOW)
