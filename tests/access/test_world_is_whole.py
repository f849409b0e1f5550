"""The shop of the access rules holds a row of whatever a page can be about.

What that is, the tables say themselves (`Record`), so that a new one is missed here by name.
"""

import pytest

from shop.record import our_models, rules_of

WITH_A_PAGE = [model for model in our_models() if rules_of(model).has_page]


def without_a_row(models):
    return [one._meta.label for one in models if not one._base_manager.exists()]


@pytest.mark.usefixtures("world")
def test_the_world_has_a_row_of_each():
    assert len(WITH_A_PAGE) > 10
    missing = without_a_row(WITH_A_PAGE)
    assert not missing, f"make {missing} in tests/access/world.py"
