"""Each claim against its simulated worlds, in few runs: about a minute in all."""

import pytest

from tests.claims.claim import SHORT_ERRORS
from tests.claims.rows import ROWS

pytestmark = pytest.mark.claims


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row.key}, {row.what}")
def test_a_claim_keeps_its_word(row):
    for found in row.found(row.short):
        assert row.beyond(found) <= SHORT_ERRORS * found.error, found
