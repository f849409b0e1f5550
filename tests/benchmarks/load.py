"""Fifty people at work on the real server, a third of them writing, while its workers die.

``python -m tests.benchmarks.load [MINUTES]`` takes ten minutes unless told otherwise and kills one
worker a minute; under ``.ci/with_postgres`` it runs on PostgreSQL. It prints what it found and
ends with 1 where something was lost, was refused, or took longer than it may. Whoever gets no
answer sends the same again, as a browser's reload does.
"""

import contextlib
import json
import os
import random
import signal
import sys
import tempfile
import threading
import time
import uuid
from collections import Counter
from dataclasses import dataclass, field
from http.client import HTTPException
from pathlib import Path

import numpy as np

from tests.running.incidents import incident_fields
from tests.running.sites import Client, new_site

PEOPLE = 50
# Of so many turns one is a write: at any moment a third of the people are writing.
A_WRITE_IN = 3
LOOKS_S = (2.0, 6.0)
KILLED_EVERY_S = 60
ALONE_FOR_S = 60
MOST_TIMES_ALONE = 3.0
# Everybody is signed in beforehand: what is measured is work, not the hashing of passwords.
SEED = """
import json
from django.conf import settings
from django.test import Client
from shop.models import Role, User
from tests import factories
shop = factories.ShopFactory(name="Alder Screw Works")
sessions = []
for number in range(PEOPLE):
    user = User.objects.create(username=f"operator{number}")
    factories.MembershipFactory(user=user, shop=shop, role=Role.OPERATOR)
    client = Client()
    client.force_login(user)
    sessions.append(client.cookies[settings.SESSION_COOKIE_NAME].value)
machine = factories.five_station_machine(shop, number="M1")
stations = list(machine.stations.values_list("pk", flat=True)[1:3])
print(json.dumps({"machine": machine.pk, "stations": stations, "sessions": sessions}))
"""


@dataclass
class Found:
    """What came of it: seconds of each answer, the writes answered, what went wrong."""

    took_s: list = field(default_factory=list)
    answered: list = field(default_factory=list)
    troubles: list = field(default_factory=list)
    unanswered: int = 0
    killed: int = 0

    @property
    def p95_s(self):
        return float(np.percentile(self.took_s, 95))

    def lost_in(self, site):
        """The answered writes that are not in the database exactly once."""
        rows = Counter(what for (what,) in site.ask("SELECT what_hit FROM machines_incident"))
        return [one for one in self.answered if rows[f"holder {one}"] != 1]


def furnish(site, people=PEOPLE):
    """A shop with a machine and so many operators; what is known of it."""
    return json.loads(site.python(SEED.replace("PEOPLE", str(people))).splitlines()[-1])


def browsers(site, known):
    """A browser for everybody, each at the first page; the site is served."""
    clients = [Client(site, session) for session in known["sessions"]]
    for client in clients:
        client.get("/")
    return clients


def at_work(clients, known, *, seconds, looks_s=LOOKS_S, server=None, killed_every_s=None):
    """Let everybody work for so long; a worker of `server` dies now and then. What was found."""
    found, until = Found(), time.monotonic() + seconds
    people = [
        threading.Thread(target=_work, args=(client, number, known, until, looks_s, found))
        for number, client in enumerate(clients)
    ]
    for person in people:
        person.start()
    while killed_every_s and time.monotonic() + killed_every_s < until:
        time.sleep(killed_every_s)
        os.kill(random.choice(_workers(server)), signal.SIGKILL)
        found.killed += 1
    for person in people:
        person.join()
    return found


def _workers(server):
    return [
        int(pid)
        for pid in Path(f"/proc/{server.pid}/task/{server.pid}/children").read_text().split()
    ]


def _work(client, number, known, until, looks_s, found):
    """One person's turns: a page, a page, an incident; seeds are fixed, times are not."""
    chance = random.Random(number)
    time.sleep(chance.uniform(0, looks_s[1]))
    turn = number
    while time.monotonic() < until:
        turn += 1
        entry_id = None if turn % A_WRITE_IN else str(uuid.uuid4())
        _until_answered(client, known, entry_id, turn, found)
        time.sleep(chance.uniform(*looks_s))


def _until_answered(client, known, entry_id, turn, found):
    while True:
        began = time.monotonic()
        try:
            answer, expected = _ask(client, known, entry_id, turn)
        except (OSError, HTTPException):
            found.unanswered += 1
            time.sleep(0.2)
            continue
        found.took_s.append(time.monotonic() - began)
        if answer.status != expected:
            found.troubles.append((answer.status, answer.body.decode(errors="replace")[-500:]))
        elif entry_id:
            found.answered.append(entry_id)
        return


def _ask(client, known, entry_id, turn):
    """(answer, the status expected) of one page or one incident."""
    machine = f"/machines/{known['machine']}/"
    if entry_id:
        fields = incident_fields(entry_id, known["stations"])
        return client.post(f"{machine}incidents/new/", fields), 302
    return client.get(machine if turn % 2 else "/"), 200


def main(minutes):
    """Run it and print what was found; returns the exit code."""
    with tempfile.TemporaryDirectory() as folder, contextlib.ExitStack() as stack:
        site = stack.enter_context(new_site(Path(folder) / "site"))
        known = furnish(site)
        server = stack.enter_context(site.served())
        clients = browsers(site, known)
        alone = at_work(clients[:1], known, seconds=ALONE_FOR_S, looks_s=(0.1, 0.3))
        found = at_work(
            clients, known, seconds=60 * minutes, server=server, killed_every_s=KILLED_EVERY_S
        )
        lost, times = found.lost_in(site), found.p95_s / alone.p95_s
    print(
        f"{len(found.took_s)} answers, {len(found.answered)} of them writes, {found.killed} workers"
        f" killed, {found.unanswered} without an answer and sent again;"
        f" {len(lost)} lost, {len(found.troubles)} wrong; 95th percentile"
        f" {1000 * found.p95_s:.0f} ms, alone {1000 * alone.p95_s:.0f} ms: {times:.1f} times"
    )
    for trouble in found.troubles[:5]:
        print(*trouble)
    return int(bool(lost or found.troubles or times > MOST_TIMES_ALONE))


if __name__ == "__main__":
    sys.exit(main(float(sys.argv[1]) if len(sys.argv) > 1 else 10))
