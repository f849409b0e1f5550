"""Fifty people at once, a third of them writing, while workers die: nothing answered is lost.

Twenty seconds of `python -m tests.benchmarks.load`, which takes minutes and counts times too.
"""

import pytest

from tests.benchmarks.load import at_work, browsers, furnish

pytestmark = pytest.mark.server


def test_what_fifty_people_were_answered_is_there_though_workers_die(empty_site):
    known = furnish(empty_site)
    with empty_site.served() as server:
        people = browsers(empty_site, known)
        found = at_work(people, known, seconds=20, server=server, killed_every_s=6)
        lost = found.lost_in(empty_site)
    assert found.killed >= 2
    assert len(found.answered) >= len(people)
    assert not found.troubles
    assert not lost
