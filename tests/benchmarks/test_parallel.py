"""Fifty people at the site at once against one: the 95th percentile of what a page takes.

The site runs under gunicorn in processes of its own. Each person opens a page, reads it for two
to six seconds, and opens the next, as people do.
"""

import asyncio
import contextlib
import importlib.util
import os
import random
import socket
import subprocess
import sys
import time

import numpy as np
import pytest
from django.conf import settings
from django.db import connection
from django.test import Client

from machines.register.models import Machine
from shop.people.models import User

PEOPLE, PAGES_EACH = 50, 6
READS_S = (2.0, 6.0)
WORKERS, THREADS = 2, 4


@contextlib.contextmanager
def site():
    """The site on a free port of this machine, on the fleet's database."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    name = connection.settings_dict["NAME"]
    environment = os.environ | {
        "DATABASE_URL": f"sqlite:///{name}",
        "SECRET_KEY": settings.SECRET_KEY,
    }
    server = subprocess.Popen(
        [sys.executable, "-m", "gunicorn", "shop.wsgi", "--bind", f"127.0.0.1:{port}",
         "--workers", str(WORKERS), "--threads", str(THREADS), "--log-level", "error"],
        env=environment, cwd=settings.BASE_DIR,
    )  # fmt: skip
    try:
        _wait_for(port)
        yield port
    finally:
        server.terminate()
        server.wait(20)


def _wait_for(port):
    for _ in range(200):
        with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), 1):
            return
        time.sleep(0.1)
    raise TimeoutError("the site did not start")


async def person(port, cookie, pages, taken, *, reads_s):
    """Opens the pages one after the other and notes how long each took."""
    for page in pages:
        await asyncio.sleep(random.uniform(*reads_s))
        begun = time.perf_counter()
        reader, writer = await asyncio.open_connection("127.0.0.1", port)
        asked = f"GET {page} HTTP/1.1\r\nHost: localhost\r\nCookie: {cookie}\r\n"
        writer.write(f"{asked}Connection: close\r\n\r\n".encode())
        answer = await reader.read()
        writer.close()
        assert answer.startswith(b"HTTP/1.1 200"), answer[:200]
        taken.append(time.perf_counter() - begun)


def visitors(count):
    """(cookie, pages) of so many shop owners, signed in."""
    for user in User.objects.filter(username__startswith="owner-").order_by("pk")[:count]:
        client = Client()
        client.force_login(user)
        machine = Machine.objects.visible_to(user).first()
        pages = ["/", "/machines/", machine.get_absolute_url(), "/due/", "/visits/", "/statements/"]
        yield f"sessionid={client.cookies['sessionid'].value}", pages[:PAGES_EACH]


async def crowd(port, people, *, rounds, reads_s):
    taken = []
    everybody = [
        person(port, cookie, pages * rounds, taken, reads_s=reads_s) for cookie, pages in people
    ]
    await asyncio.gather(*everybody)
    return np.percentile(taken, 95)


@pytest.mark.skipif(not importlib.util.find_spec("gunicorn"), reason="gunicorn is not installed")
def test_fifty_people_at_once(benchmark, fleet):
    people = list(visitors(PEOPLE))
    with site() as port:
        asyncio.run(crowd(port, people[:8], rounds=1, reads_s=(0.0, 0.1)))
        one = asyncio.run(crowd(port, people[:1], rounds=5, reads_s=(0.0, 0.1)))
        many = asyncio.run(crowd(port, people, rounds=1, reads_s=READS_S))
    benchmark.pedantic(lambda: None, rounds=1)
    benchmark.extra_info |= {
        "what": f"{len(people)} people at once, 95th percentile",
        "ms": 1000 * many,
        "floor": 1000 * one,
    }
