"""What no address may let through: forged forms, other sites' frames and scripts, other folders."""

import os
import subprocess
import sys
from email import message_from_bytes
from pathlib import Path

import pytest
from django.conf import settings
from django.db import transaction
from django.test import Client
from django.urls import reverse

from machines.incidents.notices import tell_it_stopped
from machines.incidents.stopping import stop_machine
from shop.paper.models import Document
from shop.paper.sending import send_document
from tests.post import posted

from .rules import ADMIN, CONTRACTOR, OPERATOR, OWNER, RULES

PAGES = ["shop:home", "machines:machine", "shop:visit", "shop:sign_in", "shop:people"]


def address_of(world, name):
    return reverse(name, args=world.args(RULES[name].records))


def somebody_who_sends(rule):
    return next(
        (one for one in (OWNER, CONTRACTOR, ADMIN, OPERATOR) if rule.status("post", one) == "in"),
        OWNER,
    )


def test_no_address_takes_a_form_that_another_site_made_up(world):
    """Without the token of its own page, nothing that is sent is so much as looked at."""
    for name, rule in RULES.items():
        if rule.is_sent:
            browser = Client(enforce_csrf_checks=True)
            browser.force_login(world.people[somebody_who_sends(rule)])
            response = browser.post(address_of(world, name), rule.data)
            assert (name, response.status_code) == (name, 403)


def test_whose_form_was_not_taken_is_told_what_to_do(world):
    browser = Client(enforce_csrf_checks=True)
    browser.force_login(world.owner)
    answer = browser.post(reverse("shop:my_settings"), {})
    assert "load the page anew" in answer.text
    assert "<style" not in answer.text


def test_no_address_gives_away_what_it_should_only_take(client, world):
    """What is only sent does nothing when it is merely opened, as by a link in a mail."""
    client.force_login(world.owner)
    for name, rule in RULES.items():
        if not rule.is_shown:
            assert (name, client.get(address_of(world, name)).status_code) == (name, 405)


@pytest.mark.parametrize("name", PAGES)
def test_every_page_forbids_what_it_did_not_bring(client, world, name):
    if name != "shop:sign_in":
        client.force_login(world.owner)
    response = client.get(address_of(world, name))
    policy = dict(part.split(" ", 1) for part in response["Content-Security-Policy"].split("; "))
    assert policy["default-src"] == "'self'"
    assert policy["frame-ancestors"] == policy["base-uri"] == policy["object-src"] == "'none'"
    assert "unsafe" not in response["Content-Security-Policy"]
    assert response["X-Content-Type-Options"] == "nosniff"
    assert response["X-Frame-Options"] == "DENY"
    assert response["Referrer-Policy"] == "same-origin"
    assert "geolocation=()" in response["Permissions-Policy"]


def test_no_browser_keeps_what_was_for_somebody_signed_in(client, world):
    """A page in a browser's cache is read by whoever sits down there next."""
    client.force_login(world.owner)
    for name in [*PAGES, *FILES, "shop:document"]:
        if not RULES[name].public:
            answer = client.get(address_of(world, name))
            assert (name, "no-store" in answer["Cache-Control"]) == (name, True)


def test_no_template_holds_a_script_or_a_style_of_its_own():
    """They would do nothing under the policy, and nobody would be told."""
    for page in Path(settings.BASE_DIR, "templates").rglob("*.html"):
        text = page.read_text()
        for forbidden in (
            " style=",
            "<style",
            " onclick=",
            " onsubmit=",
            " onchange=",
            "javascript:",
        ):
            assert forbidden not in text, (page, forbidden)
        assert "<script>" not in text, page


FILES = ["machines:photo", "machines:finding_photo", "machines:tooth_photo", "alignment:sheet_scan"]


@pytest.mark.parametrize("name", [*FILES, "shop:document"])
def test_no_browser_guesses_what_a_file_is(client, world, name):
    client.force_login(world.owner)
    response = client.get(address_of(world, name))
    assert response["X-Content-Type-Options"] == "nosniff"
    assert response["Content-Type"] in {"image/jpeg", "application/pdf"}
    assert response["Content-Security-Policy"]


@pytest.mark.parametrize(
    "path",
    [
        "/static/../shop/settings.py",
        "/static/..%2f..%2fshop/settings.py",
        "/static/%2e%2e/%2e%2e/shop/settings.py",
        "/media/",
        "/media/../manage.py",
        "/documents/../../etc/passwd",
        "/documents/..%2f..%2fetc%2fpasswd/",
        "/incident-photos/../../manage.py",
        "/.git/config",
        "/.local/secret_key",
    ],
)
def test_no_address_leads_out_of_its_folder(client, world, path):
    client.force_login(world.owner)
    response = client.get(path, follow=True)
    assert response.status_code == 404


def test_uploads_lie_where_no_address_leads(world):
    root = Path(settings.MEDIA_ROOT).resolve()
    for served in (settings.STATIC_ROOT, settings.BASE_DIR / "shop" / "static"):
        assert not root.is_relative_to(Path(served).resolve())


def test_what_somebody_typed_stays_one_header_of_a_file(client, world):
    """A machine's number goes into the names of files (RFC 6266, RFC 9110 5.5)."""
    world.machine.number = 'M"\r\nSet-Cookie: a=b'  # as long as a number may be
    with transaction.atomic():
        world.machine.save()
        client.force_login(world.owner)
        for name in ("machines:print_label", "alignment:check_sheet"):
            issued = client.post(address_of(world, name), RULES[name].data)
            response = client.get(issued.url)
            assert response.status_code == 200
            assert "Set-Cookie" not in {key.title() for key in response.headers}
            assert "\n" not in response["Content-Disposition"]
            assert "\r" not in response["Content-Disposition"]
        transaction.set_rollback(True)


def test_a_firm_s_name_puts_nothing_into_the_head_of_a_mailed_document(world):
    document = Document.objects.get(pk=world.statement_document.pk)
    document.firm.name = "Service\r\nBcc: all@world.example"
    send_document(document, to=[("A", "a@b.example")], made_by=world.contractor)
    letter = message_from_bytes(posted()[-1].message().as_bytes())
    assert letter["Bcc"] is None
    assert letter["To"] == "a@b.example"


def test_a_machine_s_number_puts_nothing_into_the_head_of_a_notice(
    world, django_capture_on_commit_callbacks
):
    world.owner.email = "owner@shop.example"
    world.owner.save()
    world.machine.number = "M1\r\nBcc: all@world.example"
    stop = stop_machine(world.machine)
    with django_capture_on_commit_callbacks(execute=True):
        tell_it_stopped(stop)
    letter = posted()[-1].message()
    assert (letter["Bcc"], letter["To"]) == (None, "owner@shop.example")


PRODUCTION = {
    "SWEEPBOOK_HTTPS": "1",
    "SWEEPBOOK_HOSTS": "sweepbook.example",
    "SWEEPBOOK_ADDRESS": "https://sweepbook.example",
    "SWEEPBOOK_PROXIES": "1",
    "SECRET_KEY": "not-a-secret-" + "abcdefghijklmnopqrstuvwxyz0123456789" * 2,
}


def in_production(tmp_path, *command):
    """Run `manage.py` as an installation does, on a folder of its own."""
    inherited = {key: os.environ[key] for key in ("PATH", "HOME", "LANG") if key in os.environ}
    return subprocess.run(
        [sys.executable, "manage.py", *command],
        cwd=settings.BASE_DIR,
        env=inherited | PRODUCTION | {"SWEEPBOOK_DATA": str(tmp_path)},
        capture_output=True,
        text=True,
        timeout=120,
    )


def test_the_settings_of_an_installation_pass_the_check_of_a_deployment(tmp_path):
    ran = in_production(tmp_path, "check", "--deploy", "--fail-level", "INFO")
    assert ran.returncode == 0, ran.stderr


def test_an_installation_asks_for_the_second_factor_and_keeps_its_cookies_to_https(tmp_path):
    ask = (
        "from django.conf import settings as s; print(s.SECOND_FACTOR, s.SESSION_COOKIE_SECURE,"
        " s.CSRF_COOKIE_SECURE, s.SESSION_COOKIE_HTTPONLY, s.SECURE_HSTS_SECONDS >= 31536000,"
        " s.DEBUG)"
    )
    said = in_production(tmp_path, "shell", "--no-imports", "-c", ask).stdout.split()
    assert said == ["True", "True", "True", "True", "True", "False"]
