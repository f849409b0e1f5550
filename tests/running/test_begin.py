"""`manage.py begin` as a person runs it: a process that makes a site, a certificate, and serves."""

import re
import signal
import socket
import ssl
import subprocess
import sys
import time
import urllib.request

import pytest

from shop.begin.serving import HTTPS_OFFSET

from .sites import CLUSTER, ROOT, SECONDS_TO_START

pytestmark = [
    pytest.mark.server,
    pytest.mark.skipif(bool(CLUSTER), reason="begin keeps a database file in its own folder"),
]


def free_port():
    """A port that is free together with the one on which HTTPS is served beside it."""
    for port in range(20_000, 60_000, 7):
        with socket.socket() as one, socket.socket() as other:
            try:
                one.bind(("0.0.0.0", port))
                other.bind(("0.0.0.0", port + HTTPS_OFFSET))
            except OSError:
                continue
            return port
    raise AssertionError("no two such ports are free")


@pytest.fixture
def begun(tmp_path):
    """(what the command printed, the folder of its data), while it serves."""
    command = [sys.executable, "manage.py", "begin", "--https", "--address", "localhost"]
    command += ["--port", str(free_port()), "--data", str(tmp_path / "own")]
    server = subprocess.Popen(
        command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
    )
    said = []
    for line in server.stdout:
        said.append(line)
        if line.startswith("Stop it"):
            break
    yield "".join(said), tmp_path / "own"
    server.send_signal(signal.SIGTERM)
    server.wait(timeout=30)


def opened(url, context):
    """The page at an address, once the server answers."""
    deadline = time.monotonic() + SECONDS_TO_START
    while True:
        try:
            with urllib.request.urlopen(url, context=context, timeout=10) as answer:
                return answer.read().decode()
        except OSError as error:
            if time.monotonic() > deadline or isinstance(
                getattr(error, "reason", None), ssl.SSLCertVerificationError
            ):
                raise
            time.sleep(0.2)


def test_the_link_to_begin_with_answers_over_tls_by_the_certificate_made(begun):
    """Trusting the site's own authority and nothing else."""
    said, data = begun
    (link,) = re.findall(r"Begin here, within three days: (https://localhost:\S+)", said)
    (authority,) = data.glob("certificate/**/authority*.crt")
    page = opened(link, ssl.create_default_context(cafile=authority))
    assert "Your firm or shop" in page
    with pytest.raises(OSError, match="CERTIFICATE_VERIFY_FAILED"):
        opened(link, ssl.create_default_context())
