"""Where a site of one's own keeps its data and what it is reached by; told before the settings are
read, so nothing here imports Django.
"""

import ipaddress
import os
import socket
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

ROOT = Path(__file__).resolve().parent.parent.parent
OWN_DATA = ROOT / ".own"
PORT = 8000
# HTTPS has a port of its own: the page that leads a phone through trusting it is read before that.
HTTPS_OFFSET = 443
# An address kept for documentation (RFC 5737): asking the way to it sends nothing.
ANYWHERE = ("192.0.2.1", 9)


@dataclass(frozen=True)
class Served:
    """What a site is reached by.

    https: with a certificate of its own making. given: the whole address, where it was told with
    its scheme and somebody else speaks TLS. `warnings` are sentences for whoever starts the site.
    """

    host: str
    port: int
    https: bool
    given: str = ""
    warnings: tuple[str, ...] = ()

    @property
    def https_port(self):
        return self.port + HTTPS_OFFSET

    @property
    def address(self):
        """What links, labels and QR codes begin with."""
        host = _bracketed(self.host)
        if self.given:
            return self.given
        if self.https:
            return f"https://{host}:{self.https_port}"
        return f"http://{host}" if self.port == 80 else f"http://{host}:{self.port}"

    @property
    def plain_address(self):
        """Where it answers without TLS, for the page about trusting the certificate."""
        return Served(self.host, self.port, https=False).address

    def environment(self, data):
        """The settings of the site as environment variables."""
        hosts = dict.fromkeys([self.host, socket.gethostname(), "localhost", "127.0.0.1", "::1"])
        told = {
            "SWEEPBOOK_DATA": str(data),
            "SWEEPBOOK_ADDRESS": self.address,
            "SWEEPBOOK_HOSTS": ",".join(map(_bracketed, hosts)),
        }
        if self.https:
            told |= {
                "SWEEPBOOK_HTTPS": "1",
                "SWEEPBOOK_CERTIFICATE": str(Path(data) / "certificate"),
                "SWEEPBOOK_SSL_HOST": urlsplit(self.address).netloc,
                # On the first day, at home: a second factor is asked for where a site is public.
                "SWEEPBOOK_SECOND_FACTOR": "0",
            }
        return told


def _bracketed(host):
    """A host as it stands in an address: a number of IPv6 between brackets (RFC 3986, 3.2.2)."""
    return f"[{host}]" if ":" in host else host


def add_options(parser):
    """The options of `begin`, as the command and what goes before the settings read them."""
    parser.add_argument("--address", help="name or number by which phones reach this machine")
    parser.add_argument("--port", type=int, default=PORT, help=f"port to serve on ({PORT})")
    parser.add_argument(
        "--https", action="store_true", help="serve with a certificate of its own making"
    )
    parser.add_argument("--data", default=str(OWN_DATA), help="folder of its own for the data")
    parser.add_argument("--no-serve", action="store_true", help="stop before serving")


def served_by(address, port, https=False):
    """The `Served` of an address as typed, 'shop.example' or 'http://10.0.0.5:8000', or found."""
    parts = urlsplit(address if address and "//" in address else f"//{address or ''}")
    host = parts.hostname or own_address() or "127.0.0.1"
    elsewhere = parts.scheme == "https" and not https
    if parts.port and not elsewhere:
        port = parts.port - HTTPS_OFFSET if parts.scheme == "https" else parts.port
    given = f"https://{parts.netloc}" if elsewhere else ""
    return Served(host, port, https, given, tuple(_warnings(host, given=bool(address))))


def own_address():
    """The machine's number on the network it is on; None when it is on none. Sends nothing."""
    try:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
            asked.connect(ANYWHERE)
            number = asked.getsockname()[0]
    except OSError:
        return None
    return None if ipaddress.ip_address(number).is_loopback else number


def is_own(number):
    """Whether a number, such as 192.168.1.5, is one of this machine's own."""
    try:
        family = socket.AF_INET6 if ipaddress.ip_address(number).version == 6 else socket.AF_INET
        with socket.socket(family, socket.SOCK_DGRAM) as tried:
            tried.bind((number, 0))
    except (OSError, ValueError):
        return False
    return True


def _warnings(host, *, given):
    """Sentences on why a phone may not reach the site at this host."""
    try:
        numbers = {one[4][0] for one in socket.getaddrinfo(host, None)}
    except OSError:
        yield f"No machine is called {host} on this network; a phone will not find it."
        return
    found = [ipaddress.ip_address(number.split("%")[0]) for number in numbers]
    if all(number.is_loopback for number in found):
        how = "" if given else " No network was found: join one, or give --address."
        yield f"{host} leads to this machine alone: a phone cannot reach it.{how}"
    elif any(number.is_link_local for number in found):
        yield f"{host} is a number without a network; a phone may not reach it."
    elif not any(is_own(str(number)) for number in found):
        yield (
            f"{host} is not a number of this machine. That is right behind a router or a proxy "
            "that passes on to it; else a phone will reach something different."
        )


def prepare(arguments, environ=os.environ):
    """Set what `manage.py begin` is told before the settings are read; what is set stays."""
    import argparse

    parser = argparse.ArgumentParser(add_help=False)
    add_options(parser)
    options, _rest = parser.parse_known_args(arguments)
    address = options.address or environ.get("SWEEPBOOK_ADDRESS")
    served = served_by(address, options.port, options.https)
    for name, value in served.environment(Path(options.data).resolve()).items():
        environ.setdefault(name, value)
    return served
