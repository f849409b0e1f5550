"""While somebody else holds the right to write, or the disk is full, every page is still shown."""

import contextlib
import time

import pytest

from shop.people.models import Role
from shop.sandbox.demo.people import PASSWORD
from tests.fuzz.pages import crawl

from .sites import CLUSTER, Browser, Client, new_site

pytestmark = pytest.mark.server

# Longer than a page takes under load, shorter than SQLite's own patience (20 s).
SOON_S = 15
# Asks to be worked out anew when somebody looks.
STALE = "DELETE FROM shop_workedout"
OLD = "UPDATE shop_workedout SET generation = -1"
# Pages that make something of their own as they are first opened.
LEFT_OUT = ("shop:sign_out", "shop:second_factor", "shop:second_factor_picture")


@contextlib.contextmanager
def writing_is_held(site):
    """Somebody writes, and does not come to an end."""
    with site.connection() as holder:
        if CLUSTER:
            holder.autocommit = False
            tables = "SELECT format('%I', tablename) FROM pg_tables WHERE schemaname = 'public'"
            names = ", ".join(name for (name,) in holder.execute(tables))
            holder.execute(f"LOCK TABLE {names} IN EXCLUSIVE MODE")
        else:
            holder.isolation_level = None
            holder.execute("BEGIN IMMEDIATE")
        yield
        holder.rollback()


@pytest.fixture
def own(furnished, tmp_path):
    """A furnished site of the test's own."""
    with new_site(tmp_path / "own", like=furnished[0]) as site:
        yield site


@pytest.mark.parametrize("role", list(Role))
def test_every_page_is_shown_while_somebody_holds_the_right_to_write(own, furnished, role):
    own.ask_nothing(STALE)
    with own.served():
        browser = Timed(own, furnished[1]["people"][role], PASSWORD)
        with writing_is_held(own):
            pages = crawl(browser, per_view=1, leave_out=LEFT_OUT)
    assert len(pages) > (5 if role == Role.OPERATOR else 30)
    assert browser.slowest[0] < SOON_S, browser.slowest


def test_what_could_not_be_brought_up_says_as_of_when(own, furnished):
    with own.served():
        browser = Client(own)
        browser.sign_in(furnished[1]["people"][Role.OWNER], PASSWORD)
        assert b"As of" not in browser.get("/due/").body
        own.ask_nothing(OLD)
        with writing_is_held(own):
            page = browser.get("/due/")
            assert page.status == 200
            assert b"what changed since could not be worked in yet" in page.body
        assert b"could not be worked in yet" not in browser.get("/due/").body


class Timed(Browser):
    """Remembers which page took longest."""

    slowest = (0.0, "")

    def get(self, address):
        began = time.monotonic()
        answer = super().get(address)
        self.slowest = max(self.slowest, (time.monotonic() - began, address))
        return answer
