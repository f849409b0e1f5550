"""The lists in settings name what there is, and they are few."""

import pytest
from django.conf import settings

from shop.hooks import from_above, hooks

LISTS = [
    "HOME_PANELS",
    "MACHINE_PANELS",
    "VISIT_PANELS",
    "BEFORE_SIGNING",
    "REPLACEMENT_RULES",
    "REPORT_SECTIONS",
    "MACHINE_HISTORY_SECTIONS",
    "HISTORY_SOURCES",
    "CHANGE_SECTIONS",
    "SHARED_DEVICE_PAGES",
]
PAIRS = ["AFTER", "MONEY_SOURCES", "PLANNING_SOURCES"]


@pytest.mark.parametrize("name", LISTS)
def test_every_path_of_a_list_leads_somewhere_once(name):
    paths = list(getattr(settings, name))

    assert len(set(paths)) == len(paths)
    assert len(hooks(paths)) >= len(paths)


@pytest.mark.parametrize("name", PAIRS)
def test_a_list_of_pairs_is_asked_for_one_matter_at_a_time(name):
    pairs = getattr(settings, name)
    matters = {what for what, _path in pairs}

    asked = [one for what in matters for one in hooks(pairs, about=what)]

    assert len(matters) > 1
    assert len(asked) >= len(pairs)
    assert all(callable(one) for one in asked)
    assert hooks(pairs, about="something else") == []


def test_what_lies_above_is_there():
    assert all(from_above(name) for name in settings.FROM_ABOVE)


def test_there_are_no_more_hooks_than_a_reader_can_keep_in_mind():
    lists = [*LISTS, *PAIRS, "FROM_ABOVE"]

    assert len(lists) <= 15
    assert sum(len(getattr(settings, name)) for name in lists) <= 90
