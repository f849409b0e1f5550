"""The certificate of a site's own making: a standard library's own TLS takes it, and no other."""

import socket
import ssl
import threading
from datetime import UTC, datetime, timedelta

import pytest
from django.test import override_settings

from shop.begin.certificate import AUTHORITY, ensure_certificate, fingerprint
from tests.moments import real_now


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    made = tmp_path_factory.mktemp("certificate")
    # A certificate's days are held by the TLS library, which has the computer's own clock.
    ensure_certificate(made, ["shopbox.example", "127.0.0.1"], now=real_now())
    return made


def shake_hands(folder, name, authority):
    """Let a client that trusts `authority` greet the server of a folder under a name."""
    server = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    server.load_cert_chain(folder / "server.crt", folder / "server.key")
    client = ssl.create_default_context(cafile=authority)
    # As strict on every Python as the newest is by itself.
    client.verify_flags |= ssl.VERIFY_X509_STRICT
    here, there = socket.socketpair()

    def serve():
        try:
            with server.wrap_socket(there, server_side=True):
                pass
        except (ssl.SSLError, OSError):
            there.close()

    threading.Thread(target=serve, daemon=True).start()
    with client.wrap_socket(here, server_hostname=name) as greeted:
        return greeted.version()


@pytest.mark.parametrize("name", ["shopbox.example", "127.0.0.1"])
def test_whoever_trusts_the_authority_is_let_in_by_name_and_by_number(folder, name):
    assert shake_hands(folder, name, folder / AUTHORITY).startswith("TLS")


def test_another_name_is_refused(folder):
    with pytest.raises(ssl.SSLCertVerificationError, match="Hostname mismatch"):
        shake_hands(folder, "elsewhere.example", folder / AUTHORITY)


def test_whoever_does_not_trust_the_authority_is_warned(folder, tmp_path):
    ensure_certificate(tmp_path, ["shopbox.example"], now=real_now())
    with pytest.raises(ssl.SSLCertVerificationError, match="certificate"):
        shake_hands(folder, "shopbox.example", tmp_path / AUTHORITY)


def test_it_is_made_once(folder):
    before = fingerprint(folder / AUTHORITY), fingerprint(folder / "server.crt")
    ensure_certificate(folder, ["127.0.0.1", "shopbox.example"], now=real_now())
    assert before == (fingerprint(folder / AUTHORITY), fingerprint(folder / "server.crt"))


def test_another_address_gets_another_certificate_of_the_same_authority(tmp_path):
    ensure_certificate(tmp_path, ["10.0.0.5"])
    trusted, server = fingerprint(tmp_path / AUTHORITY), fingerprint(tmp_path / "server.crt")
    ensure_certificate(tmp_path, ["10.0.0.6"])
    assert fingerprint(tmp_path / AUTHORITY) == trusted
    assert fingerprint(tmp_path / "server.crt") != server


def test_it_is_made_anew_before_it_runs_out(tmp_path):
    ensure_certificate(tmp_path, ["10.0.0.5"], now=datetime.now(UTC) - timedelta(days=380))
    old = fingerprint(tmp_path / "server.crt")
    ensure_certificate(tmp_path, ["10.0.0.5"])
    assert fingerprint(tmp_path / "server.crt") != old


def test_nobody_else_on_the_machine_reads_the_keys(folder):
    for name in ("authority.key", "server.key"):
        assert (folder / name).stat().st_mode & 0o077 == 0


def test_the_page_about_trust_shows_the_same_digits_as_the_phone(client, db, folder):
    with override_settings(OWN_CERTIFICATE=str(folder)):
        assert fingerprint(folder / AUTHORITY) in client.get("/trust/").text
        file = client.get("/trust/sweepbook.crt")
    assert b"".join(file) == (folder / AUTHORITY).read_bytes()
    assert file["Content-Type"] == "application/x-x509-ca-cert"


def test_a_site_without_one_has_nothing_to_trust(client, db):
    assert "no certificate of its own" in client.get("/trust/").text
    assert client.get("/trust/sweepbook.crt").url == "/trust/"
