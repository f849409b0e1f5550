"""By what address a site of one's own is reached, and that papers carry no other."""

import socket

import pytest
from django.conf import settings as site_settings
from django.test import override_settings

from shop.begin import serving
from shop.begin.serving import OWN_DATA, Served, own_address, prepare, served_by
from shop.paper.issuing import check_address
from shop.web.served import absolute, served_at, site_address


def test_an_address_of_this_machine_is_found_without_being_told():
    found = served_by(None, 8000)
    assert found.host == (own_address() or "127.0.0.1")
    assert found.address == f"http://{found.host}:8000"


ADDRESSES = [
    ("10.0.0.5", "http://10.0.0.5:8000"),
    ("http://10.0.0.5:9000", "http://10.0.0.5:9000"),
    ("http://10.0.0.5/", "http://10.0.0.5:8000"),
    # Somebody else speaks TLS in front of it.
    ("https://shop.example", "https://shop.example"),
]


@pytest.mark.parametrize(("typed", "address"), ADDRESSES)
def test_an_address_is_taken_as_typed(typed, address):
    assert served_by(typed, 8000).address == address


@pytest.mark.parametrize(
    ("typed", "address"),
    [("10.0.0.5", "https://10.0.0.5:8443"), ("https://10.0.0.5:9443", "https://10.0.0.5:9443")],
)
def test_a_certificate_of_its_own_has_a_port_of_its_own(typed, address):
    assert served_by(typed, 8000, https=True).address == address


def test_port_80_is_left_out_of_links():
    assert served_by("10.0.0.5", 80).address == "http://10.0.0.5"


def test_an_address_of_version_six_stands_between_brackets():
    # RFC 3986, 3.2.2.
    assert Served("fd00::5", 8000, https=False).address == "http://[fd00::5]:8000"


def test_this_machine_alone_is_said_to_be_out_of_a_phone_s_reach():
    [warning] = served_by("127.0.0.1", 8000).warnings
    assert "a phone cannot reach it" in warning


def test_a_machine_without_a_network_says_so(monkeypatch):
    monkeypatch.setattr(serving, "own_address", lambda: None)
    [warning] = served_by(None, 8000).warnings
    assert "No network was found: join one, or give --address." in warning


def test_a_name_that_nobody_has_is_told(monkeypatch):
    def unknown(*_args):
        raise socket.gaierror

    monkeypatch.setattr(socket, "getaddrinfo", unknown)
    assert "No machine is called shopbox" in served_by("shopbox", 8000).warnings[0]


def test_a_number_of_another_machine_is_told():
    # An address kept for documentation (RFC 5737) is nobody's own.
    [warning] = served_by("192.0.2.7", 8000).warnings
    assert "not a number of this machine" in warning


def test_the_settings_of_a_site_of_one_s_own_follow_from_the_address():
    environ = {}
    prepare(["--address", "10.0.0.5", "--port", "8100"], environ)
    assert environ["SWEEPBOOK_ADDRESS"] == "http://10.0.0.5:8100"
    assert environ["SWEEPBOOK_DATA"] == str(OWN_DATA)
    assert {"10.0.0.5", "localhost", "[::1]"} <= set(environ["SWEEPBOOK_HOSTS"].split(","))
    assert "SWEEPBOOK_HTTPS" not in environ


def test_what_is_set_already_stays():
    environ = {"SWEEPBOOK_ADDRESS": "http://shop.example", "SWEEPBOOK_HOSTS": "shop.example"}
    prepare(["--https"], environ)
    assert environ["SWEEPBOOK_HOSTS"] == "shop.example"
    assert environ["SWEEPBOOK_ADDRESS"] == "http://shop.example"
    assert environ["SWEEPBOOK_HTTPS"] == "1"


@override_settings(ADDRESS_IS_SET=False)
def test_papers_carry_the_address_that_was_asked():
    with served_at("http://10.0.0.5:8000"):
        assert check_address("AB").startswith("http://10.0.0.5:8000/check/")
    assert site_address() == site_settings.SITE_ADDRESS


@override_settings(ADDRESS_IS_SET=True, SITE_ADDRESS="https://shop.example")
def test_an_address_that_is_set_stands_whatever_was_asked():
    with served_at("http://10.0.0.5:8000"):
        assert absolute("/x/") == "https://shop.example/x/"


@override_settings(ADDRESS_IS_SET=False, ALLOWED_HOSTS=["shop.example"])
def test_a_host_that_is_not_allowed_is_not_taken_for_the_address(client):
    assert client.get("/sign-in/", headers={"host": "elsewhere.example"}).status_code == 400
