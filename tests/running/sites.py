"""Sites of their own for tests: a database, a folder, and the real server in front of them."""

import contextlib
import http.client
import os
import re
import shutil
import signal
import socket
import sqlite3
import subprocess
import sys
import time
import uuid
from dataclasses import dataclass, field
from pathlib import Path
from types import SimpleNamespace

import psycopg

ROOT = Path(__file__).resolve().parents[2]
SECONDS_TO_START = 60
BOUNDARY = "between-the-fields"
# The PostgreSQL cluster the suite runs on, if any; its sites get databases of their own.
CLUSTER = os.environ.get("DATABASE_URL")


@dataclass
class Site:
    """One installation: its folder, its database, and how to run it."""

    folder: Path
    address: str = ""
    database: str = field(default_factory=lambda: f"site_{uuid.uuid4().hex}")
    # Settings from the environment beside those that every such site has.
    more: dict = field(default_factory=dict)

    @property
    def url(self):
        """What DATABASE_URL says of it."""
        if CLUSTER:
            return CLUSTER.rsplit("/", 1)[0] + f"/{self.database}"
        return f"sqlite:///{self.folder / 'sweepbook.sqlite3'}"

    @property
    def media(self):
        return self.folder / "media"

    @property
    def environment(self):
        return {
            **os.environ,
            "SWEEPBOOK_DATA": str(self.folder),
            "DATABASE_URL": self.url,
            "PYTHONPATH": str(ROOT),
            **self.more,
        }

    def manage(self, *arguments, fails=False):
        """Run manage.py; returns what it printed, on either stream."""
        run = subprocess.run(
            [sys.executable, "manage.py", *map(str, arguments)],
            cwd=ROOT,
            env=self.environment,
            capture_output=True,
            text=True,
            check=False,
        )
        said = run.stdout + run.stderr
        assert (run.returncode != 0) is fails, said
        return said

    def python(self, code):
        """Run Python in the site; returns what it printed."""
        return self.manage("shell", "--verbosity", "0", "-c", code)

    @contextlib.contextmanager
    def connection(self):
        """A connection to its database that knows nothing of Django."""
        made = (
            psycopg.connect(self.url, autocommit=True)
            if CLUSTER
            else sqlite3.connect(self.folder / "sweepbook.sqlite3", timeout=20)
        )
        try:
            yield made
        finally:
            made.close()

    def ask(self, sql):
        """All rows of a question to its database."""
        with self.connection() as connection:
            return connection.execute(sql).fetchall()

    def ask_nothing(self, sql):
        """Do something to its database that answers nothing."""
        with self.connection() as connection:
            connection.execute(sql)
            connection.commit()

    @contextlib.contextmanager
    def served(self):
        """The real server in front of it, in a process group of its own; killed afterwards."""
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.address = f"127.0.0.1:{probe.getsockname()[1]}"
        command = [sys.executable, "-m", "gunicorn", "-c", ".gunicorn.py", "shop.wsgi"]
        with (self.folder / "log").open("ab") as log:
            server = subprocess.Popen(
                command,
                cwd=ROOT,
                env={**self.environment, "SWEEPBOOK_BIND": self.address},
                stderr=log,
                start_new_session=True,
            )
        try:
            self._wait_for_answer()
            yield server
        finally:
            kill(server)

    def _wait_for_answer(self):
        for _ in range(SECONDS_TO_START * 10):
            with contextlib.suppress(OSError):
                if Client(self).get("/healthz").status == 200:
                    return
            time.sleep(0.1)
        raise AssertionError((self.folder / "log").read_text())


def kill(server):
    """End the server and all its workers at once, as a power cut would: nothing is tidied up."""
    with contextlib.suppress(ProcessLookupError):
        os.killpg(server.pid, signal.SIGKILL)
    server.wait()


@contextlib.contextmanager
def new_site(folder, like=None):
    """A site with its tables made, or the same as another, and its database dropped afterwards."""
    folder.mkdir()
    site = Site(folder)
    try:
        if CLUSTER:
            _in_cluster(f'CREATE DATABASE "{site.database}"', like)
        elif like:
            shutil.copy(like.folder / "sweepbook.sqlite3", folder)
        if not like:
            site.manage("migrate", "--verbosity", "0")
        yield site
    finally:
        if CLUSTER:
            _in_cluster(f'DROP DATABASE IF EXISTS "{site.database}" WITH (FORCE)')


def _in_cluster(statement, like=None):
    with psycopg.connect(CLUSTER, autocommit=True) as connection:
        connection.execute(statement + (f' TEMPLATE "{like.database}"' if like else ""))


@dataclass
class Answer:
    status: int
    location: str
    body: bytes


class Client:
    """A browser's part: cookies, the token that a form carries, and files.

    session: that of somebody who is signed in already; "" for nobody.
    """

    def __init__(self, site, session=""):
        self._site = site
        self._cookies = {"sessionid": session} if session else {}

    def get(self, path):
        return self._ask("GET", path)

    def post(self, path, fields, photo=None):
        """Send a form: names to values or lists of values, and a photo's bytes."""
        pairs = [
            (name, one)
            for name, value in {
                **fields,
                "csrfmiddlewaretoken": self._cookies.get("csrftoken", ""),
            }.items()
            for one in (value if isinstance(value, list) else [value])
        ]
        return self._ask("POST", path, _multipart(pairs, photo))

    def sign_in(self, username, password):
        self.get("/sign-in/")
        answer = self.post("/sign-in/", {"username": username, "password": password})
        assert answer.status == 302, answer.body

    @property
    def cookies(self):
        """As a browser sends them."""
        return "; ".join(f"{name}={value}" for name, value in self._cookies.items())

    def twin(self):
        """Another browser, signed in the same."""
        twin = Client(self._site)
        twin._cookies = dict(self._cookies)
        return twin

    def _ask(self, method, path, body=None):
        connection = http.client.HTTPConnection(self._site.address, timeout=30)
        headers = {"Cookie": self.cookies}
        if body is not None:
            headers["Content-Type"] = f"multipart/form-data; boundary={BOUNDARY}"
        try:
            connection.request(method, path, body, headers)
            answer = connection.getresponse()
            for cookie in answer.headers.get_all("Set-Cookie", []):
                name, value = re.match(r"([^=]+)=([^;]*)", cookie).groups()
                self._cookies[name] = value
            return Answer(answer.status, answer.headers.get("Location", ""), answer.read())
        finally:
            connection.close()


class Browser:
    """A person at a browser, as the crawl asks one for pages."""

    def __init__(self, site, username, password):
        self._client = Client(site)
        self._client.sign_in(username, password)

    def get(self, address):
        answer = self._client.get(address)
        is_page = answer.body.lstrip()[:15].lower() == b"<!doctype html>"
        kind = {"Content-Type": "text/html" if is_page else "other"}
        return SimpleNamespace(status_code=answer.status, content=answer.body, get=kind.get)

    def send(self, form):
        """The status of the answer to a form that was sent as it stands."""
        sent = form.filled_in()
        sent.pop("csrfmiddlewaretoken", None)
        return self._client.post(form.action, sent).status


def _multipart(pairs, photo):
    parts = [f'form-data; name="{name}"\r\n\r\n{value}\r\n'.encode() for name, value in pairs]
    if photo:
        head = 'form-data; name="photos"; filename="p.jpg"\r\nContent-Type: image/jpeg\r\n\r\n'
        parts.append(head.encode() + photo + b"\r\n")
    begin = f"--{BOUNDARY}\r\nContent-Disposition: ".encode()
    return b"".join(begin + part for part in parts) + f"--{BOUNDARY}--\r\n".encode()
