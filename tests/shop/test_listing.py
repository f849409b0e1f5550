"""Cells of a list taken out as CSV."""

import pytest

from shop.web.listing import harmless


@pytest.mark.parametrize("cell", ["=1+1", "+1+1", "-1-cmd", "-", "@x", "\tx", "\rx", "-1\n"])
def test_text_that_a_spreadsheet_would_run_is_marked_as_text(cell):
    assert harmless(cell) == f"'{cell}"


@pytest.mark.parametrize("cell", ["plain", "a=b", "", None, -1, 2.5, "-1", "+12.50"])
def test_everything_else_stays_as_it_is(cell):
    assert harmless(cell) == cell
