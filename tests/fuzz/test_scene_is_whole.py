"""The shop that bad input is sent to holds a row of whatever a page can be about.

What that is, the tables say themselves (`Record`), so that a new one is missed here by name.
"""

import pytest

from tests.access.test_world_is_whole import WITH_A_PAGE, without_a_row


@pytest.mark.usefixtures("site")
def test_the_scene_has_a_row_of_each():
    missing = without_a_row(WITH_A_PAGE)
    assert not missing, f"make {missing} in tests/fuzz/scene.py"
