"""Passwords are guessed: from one address for many names, from many addresses for one name, and
by somebody at a screen that was left signed in."""

from datetime import timedelta

import pytest
from axes.models import AccessAttempt
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from shop.people.models import Tally, User
from shop.people.signing_in import guessing
from shop.people.signing_in.sessions import ENDS_AFTER, ENDS_FOR_STAFF_AFTER
from tests.factories import PASSWORD

pytestmark = pytest.mark.django_db
SIGN_IN = "/sign-in/"


@pytest.fixture(autouse=True)
def few(monkeypatch):
    """So that a test need not guess sixty times."""
    monkeypatch.setattr(guessing, "WRONG_FROM_ONE_CLIENT", 6)
    monkeypatch.setattr(guessing, "WRONG_FOR_ONE_NAME", 4)


def guess(name="owner", password="wrong", address="192.0.2.1"):
    given = {"username": name, "password": password}
    return Client(REMOTE_ADDR=address).post(SIGN_IN, given)


def test_one_address_that_tries_many_names_is_shut_out(owner):
    for number in range(6):
        guess(f"name{number}")
    assert guess(password=PASSWORD).status_code == 429
    assert guess(password=PASSWORD, address="192.0.2.2").status_code == 302


def test_one_name_tried_from_many_addresses_is_shut(owner, operator):
    for number in range(4):
        guess(address=f"192.0.2.{number}")
    assert guess(password=PASSWORD, address="198.51.100.1").status_code == 429
    assert guess("operator", PASSWORD, "198.51.100.1").status_code == 302


def test_after_an_hour_the_way_in_is_open_again(owner, clock):
    for number in range(4):
        guess(address=f"192.0.2.{number}")
    clock.shift(guessing.WITHIN + timedelta(seconds=1))
    assert guess(password=PASSWORD).status_code == 302


@pytest.mark.parametrize(
    ("page", "given"),
    [
        ("shop:password", {"old_password": "wrong", "new_password1": "x", "new_password2": "x"}),
        ("shop:my_pin", {"pin": "4831", "again": "4831", "password_now": "wrong"}),
        ("shop:second_factor", {"code": "000000", "password_now": "wrong"}),
        ("shop:my_settings", {"email": "new@shop.example", "length_unit": "mm",
                              "first_name": "A", "last_name": "B", "password_now": "wrong"}),
    ],
)  # fmt: skip
def test_a_wrong_password_counts_wherever_it_is_asked_for(client, owner, page, given):
    client.force_login(owner)
    for _ in range(4):
        client.post(reverse(page), given)
    assert guess(password=PASSWORD, address="198.51.100.1").status_code == 429


def test_what_was_counted_is_forgotten_at_night(owner, clock, settings):
    settings.AXES_ENABLED = True
    guess()
    assert AccessAttempt.objects.exists()
    assert Tally.objects.exists()
    clock.shift(timedelta(days=3))
    call_command("tidy", verbosity=0)
    assert not AccessAttempt.objects.exists()
    assert not Tally.objects.exists()


class TestPasswords:
    @pytest.mark.parametrize("poor", ["Indic8tor", "password123", "Sweepbook2026", "sweep-book!"])
    def test_what_is_short_common_or_the_site_s_name_is_refused(self, poor):
        with pytest.raises(ValidationError):
            validate_password(poor, User(username="nell"))

    def test_the_shop_s_name_is_refused_to_its_people(self, owner, shop):
        with pytest.raises(ValidationError, match="name of the site, the shop or the firm"):
            validate_password(f"{shop.name} 2026!", owner)
        validate_password(f"{shop.name} 2026!", User(username="nell"))

    def test_and_to_whoever_is_about_to_join(self):
        joining = User(username="nell")
        joining.joins = ["Alder Screw Works"]
        with pytest.raises(ValidationError):
            validate_password("alderscrewworks1", joining)

    def test_a_name_among_other_words_is_taken(self, owner, shop):
        validate_password("the drift of a sweepbook in March", owner)


class TestSessions:
    @pytest.mark.parametrize(
        ("is_staff", "lasts"), [(False, ENDS_AFTER), (True, ENDS_FOR_STAFF_AFTER)]
    )
    def test_a_session_ends_whatever_is_done_in_it(self, client, owner, clock, is_staff, lasts):
        owner.is_staff = is_staff
        owner.save()
        client.force_login(owner)
        half = lasts / 2
        clock.shift(half)
        assert client.get("/visits/").status_code == 200
        clock.shift(half + timedelta(seconds=1))
        assert client.get("/visits/").status_code == 302

    def test_what_somebody_saw_is_not_kept_by_the_browser(self, client, owner):
        client.force_login(owner)
        assert "no-store" in client.get("/visits/")["Cache-Control"]

    def test_the_moment_is_set_at_signing_in(self, client, owner):
        client.force_login(owner)
        left = client.session.get_expiry_date() - timezone.now()
        assert abs(left - ENDS_AFTER) < timedelta(minutes=1)
