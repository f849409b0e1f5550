"""A site with a shop, an operator and a machine, and people who log incidents at it."""

import contextlib
import io
import json
import threading
import time
import uuid
from http.client import HTTPException

import pytest
from PIL import Image

from tests.factories import PASSWORD

from .incidents import incident_fields
from .sites import Client, new_site

SEED = """
import json
from shop.models import Role
from tests import factories
shop = factories.ShopFactory(name="Alder Screw Works")
user = factories.UserFactory(username="operator")
factories.MembershipFactory(user=user, shop=shop, role=Role.OPERATOR)
machine = factories.five_station_machine(shop, number="M1")
stations = list(machine.stations.values_list("pk", flat=True)[1:3])
print(json.dumps({"machine": machine.pk, "stations": stations}))
"""

FURNISH = """
import json
from shop.models import Role, Visit
from tests.fuzz.scene import furnish
people = furnish()
shop = people[Role.OWNER].memberships.get().shop
busy = Visit.objects.filter(state="on site").values("visited__machine")
print(json.dumps({
    "shop": shop.pk,
    "name": shop.name,
    "idle": shop.machines.exclude(pk__in=busy).first().pk,
    "people": {role: user.username for role, user in people.items()},
}))
"""


@pytest.fixture(scope="session")
def blank(tmp_path_factory):
    """A site with its tables made and nothing in them, from which the others are copied."""
    with new_site(tmp_path_factory.mktemp("sites") / "blank") as site:
        yield site


@pytest.fixture(scope="session")
def seeded(blank, tmp_path_factory):
    """The site with a shop, and what is in it: (site, {"machine", "stations"})."""
    with new_site(tmp_path_factory.mktemp("sites") / "seeded", like=blank) as site:
        yield site, json.loads(site.python(SEED).splitlines()[-1])


@pytest.fixture(scope="session")
def furnished(blank, tmp_path_factory):
    """A site with one of everything, and who and what is in it."""
    with new_site(tmp_path_factory.mktemp("furnished") / "site", like=blank) as site:
        yield site, json.loads(site.python(FURNISH).splitlines()[-1])


@pytest.fixture
def site(seeded, tmp_path):
    """A site of the test's own, the same as the seeded one."""
    with new_site(tmp_path / "site", like=seeded[0]) as site:
        yield site


@pytest.fixture
def empty_site(blank, tmp_path):
    """A site of the test's own with nothing in it."""
    with new_site(tmp_path / "empty", like=blank) as site:
        yield site


@pytest.fixture
def crowd(site, seeded):
    """People who log incidents all at once."""
    return Crowd(site, seeded[1])


class Crowd:
    """Several people, each sending one incident after the other and each again until answered."""

    def __init__(self, site, known, *, people=4):
        self.site = site
        self.answered = set()
        self.troubles = []
        self._page = f"/machines/{known['machine']}/incidents/new/"
        self._stations = known["stations"]
        self._people = people
        self._threads = []
        self._stopped = threading.Event()

    def start(self, *, each):
        """Let every person send `each` incidents, in threads of their own."""
        self.ids = [[str(uuid.uuid4()) for _ in range(each)] for _ in range(self._people)]
        first = Client(self.site)
        first.sign_in("operator", PASSWORD)
        self._threads = [
            threading.Thread(target=self._send_all, args=(first.twin(), ids), daemon=True)
            for ids in self.ids
        ]
        for thread in self._threads:
            thread.start()

    def wait_for(self, answers, *, seconds=120):
        """Return once so many were answered."""
        deadline = time.monotonic() + seconds
        while len(self.answered) < answers:
            assert time.monotonic() < deadline, f"{len(self.answered)} answers; {self.troubles}"
            time.sleep(0.01)

    def stop(self):
        """Let everybody end what they are at and send nothing more."""
        self._stopped.set()
        self.finish()

    def finish(self, *, seconds=300):
        """Wait until everybody has ended; fails when somebody is still waiting for an answer."""
        for thread in self._threads:
            thread.join(seconds)
        assert not self.troubles, self.troubles
        waiting = sum(thread.is_alive() for thread in self._threads)
        assert not waiting, f"{waiting} still wait for an answer after {seconds} s"

    def _send_all(self, client, ids):
        for entry_id in ids:
            while entry_id not in self.answered and not self._stopped.is_set():
                # No answer: the person sends the same form again, as a browser's reload does.
                with contextlib.suppress(OSError, HTTPException):
                    self._send(client, entry_id)
                    continue
                time.sleep(0.2)

    def _send(self, client, entry_id):
        fields = incident_fields(entry_id, self._stations)
        answer = client.post(self._page, fields, photo=a_photo())
        if answer.status != 302:
            self.troubles.append((answer.status, answer.body.decode()[-2000:]))
        self.answered.add(entry_id)


def a_photo():
    """A small photo unlike all others."""
    file = io.BytesIO()
    Image.frombytes("RGB", (4, 4), uuid.uuid4().bytes * 3).save(file, "JPEG")
    return file.getvalue()
