"""A fleet in a database of its own, written once and kept, and the people who look at it.

Measuring writes nothing that stays, so the same fleet serves again; delete the folder to have
another. `SWEEPBOOK_MEASURED` names the folder, `SWEEPBOOK_MACHINES` how many machines it has.
"""

import contextlib
import os
from dataclasses import dataclass
from pathlib import Path

import pytest
from django.conf import settings
from django.core.cache import caches
from django.core.management import call_command
from django.db import connection

from machines.register.models import Machine
from shop.people.models import Firm, User
from shop.sandbox.synthetic_data import Asked, make_fleet
from shop.sandbox.synthetic_data.people import EVERYWHERE

MACHINES = int(os.environ.get("SWEEPBOOK_MACHINES", "10000"))


@contextlib.contextmanager
def database(name, asked):
    """Work on the fleet's own database; it is written first where it is not there yet."""
    folder = Path(os.environ.get("SWEEPBOOK_MEASURED", settings.LOCAL_DIR / "measured"))
    folder.mkdir(parents=True, exist_ok=True)
    connection.close()
    caches["standing"].clear()
    before = connection.settings_dict["NAME"]
    connection.settings_dict["NAME"] = str(folder / f"{name}.sqlite3")
    try:
        call_command("migrate", verbosity=0)
        if not Firm.objects.exists():
            make_fleet(asked)
            with connection.cursor() as cursor:
                cursor.execute("ANALYZE")
        yield
    finally:
        connection.close()
        caches["standing"].clear()
        connection.settings_dict["NAME"] = before


@pytest.fixture(scope="session")
def django_db_setup(django_db_blocker):
    """No test database: what is measured here has a database of its own."""
    if connection.vendor != "sqlite":
        pytest.skip("the fleet that is measured is kept in SQLite")
    with django_db_blocker.unblock():
        yield


@dataclass(frozen=True)
class Viewer:
    """Somebody who sees so many machines."""

    user: User
    machines: int


@pytest.fixture(scope="session")
def fleet(django_db_setup):
    """The large fleet; each machine was visited once."""
    with database(f"fleet-{MACHINES}", Asked(MACHINES, years=1, visits_a_year=1)):
        yield


@pytest.fixture(scope="session")
def viewers(fleet):
    """The owner of one shop, the contractor of one firm, and somebody with all there is."""
    names = ("owner-1", "fleet-contractor-1", EVERYWHERE)
    people = [User.objects.get(username=name) for name in names]
    return [Viewer(one, Machine.objects.visible_to(one).count()) for one in people]
