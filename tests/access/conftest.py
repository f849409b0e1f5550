"""The shop with everything in it, and another one that none of its people belong to."""

import pytest
from django.db import transaction
from django.test import override_settings

from .world import World


@pytest.fixture(scope="module")
def worlds(django_db_setup, django_db_blocker):
    """(the shop, the foreign shop), built once for a file and rolled back after it."""
    with django_db_blocker.unblock(), override_settings(BEFORE_SIGNING=[]), transaction.atomic():
        own, foreign = World("Alder"), World("Zaffre")
        own.invite_everybody_else()
        yield own, foreign
        transaction.set_rollback(True)


@pytest.fixture
def world(db, worlds):
    return worlds[0]


@pytest.fixture
def foreign(db, worlds):
    return worlds[1]
