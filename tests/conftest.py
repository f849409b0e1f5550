"""What every test may ask for: people, a shop, a machine; and how the test databases are kept."""

import sqlite3
from datetime import UTC, datetime

import pytest
import time_machine
from django.core.cache import caches
from django.db import connection
from django.db.backends.signals import connection_created
from django.test import override_settings

from shop.people.models import Role
from tests import factories
from tests.moments import BEGIN, real_now

# What runs beside the tests, a browser or the site's own server, has the real clock.
REAL_CLOCK = ("browser", "server")


@pytest.fixture(scope="session", autouse=True)
def _travelling():
    """The clock of the run; what is made once for a module is made at its beginning."""
    connection_created.connect(_same_time_in_sqlite)
    with time_machine.travel(BEGIN.timestamp()) as travelling:
        yield travelling


def _same_time_in_sqlite(connection, **_signal):
    """Give SQLite the tests' clock for its 'now'; it reads the computer's own."""
    if connection.vendor != "sqlite":
        return
    plain = sqlite3.connect(":memory:", check_same_thread=False)

    def strftime(form, moment):
        moment = str(datetime.now(UTC)) if moment == "now" else moment
        return plain.execute("SELECT strftime(?, ?)", (form, moment)).fetchone()[0]

    connection.connection.create_function("strftime", 2, strftime)


@pytest.fixture(autouse=True)
def clock(_travelling, request):
    """The clock: every test begins at one moment and time goes on from there. A test about another
    moment moves it, `clock.move_to(moment)` or `clock.shift(timedelta)`."""
    runs_beside = any(request.node.get_closest_marker(name) for name in REAL_CLOCK)
    _travelling.move_to((real_now() if runs_beside else BEGIN).timestamp())
    yield _travelling
    _travelling.move_to(BEGIN.timestamp())


@pytest.fixture(scope="session", autouse=True)
def _settings_for_tests(tmp_path_factory):
    """Uploads go to a folder that is thrown away; passwords are hashed fast, not well."""
    with override_settings(
        MEDIA_ROOT=tmp_path_factory.mktemp("media"),
        PASSWORD_HASHERS=["django.contrib.auth.hashers.MD5PasswordHasher"],
        EMAIL_BACKEND="django.core.mail.backends.locmem.EmailBackend",
        # Counting wrong passwords costs a query at every sign-in; its own tests turn it on.
        AXES_ENABLED=False,
        # Otherwise every test client looks through all static files before its first request.
        WHITENOISE_AUTOREFRESH=True,
    ):
        yield


@pytest.fixture(scope="session")
def django_db_modify_db_settings(django_db_modify_db_settings, tmp_path_factory):
    """SQLite tests run on a file: a database in memory is one connection, which the threads of
    the live server would share, transactions and all."""
    settings = connection.settings_dict
    if connection.vendor == "sqlite":
        settings["TEST"]["NAME"] = str(tmp_path_factory.mktemp("database") / "test.sqlite3")


@pytest.fixture(autouse=True)
def _thaw_before_flush(request):
    """Take the triggers off before a transactional test's tables are emptied.

    What was signed and what the trail says refuse to be emptied. Emptying ends with the signal
    after which the triggers are put on again.
    """
    marker = request.node.get_closest_marker("django_db")
    transactional = marker is not None and marker.kwargs.get("transaction")
    if not (transactional or {"transactional_db", "live_server"} & set(request.fixturenames)):
        yield
        return
    request.getfixturevalue("transactional_db")
    yield
    from shop.records.triggers.syncing import drop_triggers

    drop_triggers(using="default", kinds=("frozen", "trail"))


@pytest.fixture(autouse=True)
def _nothing_worked_out():
    """What a test before this one worked out stands for records that were undone since."""
    caches["standing"].clear()


@pytest.fixture
def shop(db):
    return factories.ShopFactory(name="Alder Screw Works")


@pytest.fixture
def firm(db):
    return factories.FirmFactory(name="Oldbridge Spindle Service")


@pytest.fixture
def owner(shop):
    return _member(shop, Role.OWNER, "owner")


@pytest.fixture
def operator(shop):
    return _member(shop, Role.OPERATOR, "operator")


@pytest.fixture
def contractor(shop, firm):
    return _member(shop, Role.CONTRACTOR, "contractor", firm=firm)


@pytest.fixture
def stranger(db):
    """Somebody who owns another shop and is nobody at this one."""
    return _member(factories.ShopFactory(name="Other Works"), Role.OWNER, "stranger")


@pytest.fixture
def machine(shop):
    """A five-station machine of the shop."""
    return factories.five_station_machine(shop, number="M1")


@pytest.fixture
def visit(shop, firm, contractor):
    """A planned visit of the contractor to the shop."""
    return factories.VisitFactory(shop=shop, firm=firm, contractor=contractor)


def _member(shop, role, username, **membership):
    user = factories.UserFactory(username=username)
    factories.MembershipFactory(user=user, shop=shop, role=role, **membership)
    return user


@pytest.fixture
def belt(machine):
    return machine.belts.get(name="guide bushing belt")


@pytest.fixture
def tax(firm):
    return factories.TaxCategoryFactory(firm=firm)


@pytest.fixture
def at_visit(visit, machine):
    """The visit with the machine taken up at it."""
    from machines.visit_work.services import add_machine_to_visit

    add_machine_to_visit(visit, machine)
    return visit


@pytest.fixture
def nothing_missing(settings):
    """Nothing stands in the way of signing."""
    settings.BEFORE_SIGNING = []
