"""Mail from the running site: a mail server that hangs holds up nobody, and nothing gets lost."""

import contextlib
import email
import re
import socket
import threading
import time

import pytest

from tests.factories import PASSWORD

from .sites import Client, kill

pytestmark = pytest.mark.server

STOPPING = {
    "kind": "hit",
    "what_hit": "holder",
    "hit_what": "sub-spindle nose",
    "severity": "hard",
    "happened_at": "2025-03-05T14:20",
    "may_run": "no",
}
OWNERS = """
from shop.models import Role, Shop, User
from tests import factories
shop = Shop.objects.get()
for number in range(9):
    owner = factories.UserFactory(username=f"owner{number}", email=f"owner{number}@shop.example")
    factories.MembershipFactory(user=owner, shop=shop, role=Role.OWNER)
"""
# Threads that one server of the site answers with (.gunicorn.py), all of them together.
THREADS = 8


class MailServer:
    """Enough of RFC 5321 to take mail; or a server that accepts and never says a word."""

    def __init__(self, *, hangs=False, slow_s=0.0):
        self.hangs, self.slow_s, self.letters, self.callers = hangs, slow_s, [], 0
        self._socket = socket.create_server(("127.0.0.1", 0))
        self.port = self._socket.getsockname()[1]
        threading.Thread(target=self._accept, daemon=True).start()

    def _accept(self):
        self._kept = []
        with contextlib.suppress(OSError):
            while True:
                caller, _address = self._socket.accept()
                self.callers += 1
                self._kept.append(caller)
                if not self.hangs:
                    threading.Thread(target=self._talk, args=(caller,), daemon=True).start()

    def _talk(self, caller):
        with contextlib.suppress(OSError), caller.makefile("rwb") as line:

            def say(words):
                line.write(words.encode() + b"\r\n")
                line.flush()

            say("220 ready")
            while words := line.readline().strip().upper():
                if words == b"DATA":
                    say("354 go on")
                    self.letters.append(_until_the_dot(line))
                    time.sleep(self.slow_s)
                say("221 bye" if words == b"QUIT" else "250 fine")

    def close(self):
        self._socket.close()


def _until_the_dot(line):
    said = b""
    while (more := line.readline()) != b".\r\n":
        said += more
    return email.message_from_bytes(said)


@pytest.fixture
def owners(site):
    """The site, with nine owners who can be mailed."""
    site.python(OWNERS)
    return site


def with_mail_by(site, server):
    site.more = {"SWEEPBOOK_SMTP_HOST": "127.0.0.1", "SWEEPBOOK_SMTP_PORT": str(server.port)}


def ask_for_a_password(site, number):
    browser = Client(site)
    browser.get("/forgotten/")
    answer = browser.post("/forgotten/", {"email": f"owner{number}@shop.example"})
    assert answer.status == 302


def wait_until(true, *, seconds=60):
    deadline = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < deadline, "it did not come to pass"
        time.sleep(0.1)


def test_nine_strangers_and_a_mail_server_that_never_answers_block_nobody(owners, seeded):
    server = MailServer(hangs=True)
    with_mail_by(owners, server)
    with owners.served():
        asking = [
            threading.Thread(target=ask_for_a_password, args=(owners, number), daemon=True)
            for number in range(THREADS + 1)
        ]
        began = time.monotonic()
        for one in asking:
            one.start()
        for one in asking:
            one.join(60)
        assert not any(one.is_alive() for one in asking)
        wait_until(lambda: server.callers)
        operator = Client(owners)
        operator.sign_in("operator", PASSWORD)
        logged = operator.post(
            f"/machines/{seeded[1]['machine']}/incidents/new/",
            STOPPING | {"stations": seeded[1]["stations"]},
        )
        assert logged.status == 302, logged.body
        # The server hangs for 20 s before it is given up; all of this took no such time.
        assert time.monotonic() - began < 60
    (waiting,) = owners.ask("SELECT count(*) FROM shop_outgoingmail WHERE sent_at IS NULL")
    assert waiting[0] > THREADS
    server.close()


def test_mail_under_way_when_the_server_is_killed_goes_out_and_once(owners):
    """Killed while the mail server is slow to say that it took a mail; then started again."""
    post_box = MailServer(slow_s=1.0)
    with_mail_by(owners, post_box)
    with owners.served() as server:
        for number in range(5):
            ask_for_a_password(owners, number)
        wait_until(lambda: post_box.letters)
        kill(server)
    unsent = "SELECT count(*) FROM shop_outgoingmail WHERE sent_at IS NULL"
    assert owners.ask(unsent)[0][0] > 0
    # What the dead sender was at is free after ten minutes, which nobody waits for here.
    owners.ask_nothing("UPDATE shop_outgoingmail SET claimed_until = NULL")
    said = owners.manage("send_mail")
    assert re.search(r"\d+ sent, 0 to be tried again", said)
    assert owners.ask(unsent) == [(0,)]
    by_name = {letter["Message-ID"]: letter["To"] for letter in post_box.letters}
    assert sorted(by_name.values()) == [f"owner{number}@shop.example" for number in range(5)]
    post_box.close()
