"""Signing in: hashing, the limit on wrong passwords, sessions, and a new password by mail."""

import re
from datetime import timedelta

import pytest
from django.conf import settings as site_settings
from django.contrib.auth.hashers import check_password, identify_hasher, make_password
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from shop.people.models import SignIn
from shop.settings import PASSWORD_HASHERS
from tests.factories import PASSWORD
from tests.post import posted

PHONE = "Mozilla/5.0 (Linux; Android 14) AppleWebKit/537.36 (KHTML, like Gecko) Mobile Safari"
TABLET = "Mozilla/5.0 (Linux; Android 14) AppleWebKit/537.36 (KHTML, like Gecko) Safari"
DESK = "Mozilla/5.0 (X11; Linux x86_64) AppleWebKit/537.36 (KHTML, like Gecko) Safari"
NEW = "jack-screws-and-shims"


def sign_in(client, username="owner", password=PASSWORD, **more):
    data = {"username": username, "password": password}
    address = reverse("shop:sign_in")
    if "next" in more:
        address += f"?next={more.pop('next')}"
    return client.post(address, data, **more)


def is_signed_in(client):
    return client.get(reverse("shop:home")).status_code == 200


def test_passwords_are_hashed_with_argon2id(settings):
    # RFC 9106, 4: Argon2id is the variant that must be supported and is recommended.
    settings.PASSWORD_HASHERS = PASSWORD_HASHERS
    kept = make_password(PASSWORD)
    assert kept.startswith("argon2$argon2id$")
    assert check_password(PASSWORD, kept)


def test_a_password_of_an_older_hash_is_hashed_anew_when_it_is_next_used(client, owner, settings):
    settings.PASSWORD_HASHERS = PASSWORD_HASHERS
    owner.password = make_password(PASSWORD, hasher="pbkdf2_sha256")
    owner.save()
    sign_in(client)
    owner.refresh_from_db()
    assert identify_hasher(owner.password).algorithm == "argon2"


@pytest.fixture
def counting(settings):
    settings.AXES_ENABLED = True
    return settings.AXES_FAILURE_LIMIT


def test_after_too_many_wrong_passwords_even_the_right_one_waits(client, owner, counting):
    for _ in range(counting):
        response = sign_in(client, password="wrong")
    assert response.status_code == 429
    assert "shut for 15 minutes" in response.text
    assert sign_in(client).status_code == 429
    assert not is_signed_in(client)


def test_the_limit_is_for_one_name_from_one_address(client, owner, operator, counting):
    for _ in range(counting):
        sign_in(client, password="wrong")
    assert sign_in(client, username="operator").status_code == 302
    assert sign_in(Client(REMOTE_ADDR="198.51.100.7")).status_code == 302


def test_after_a_while_the_way_in_is_open_again(client, owner, counting):
    from axes.models import AccessAttempt

    for _ in range(counting):
        sign_in(client, password="wrong")
    AccessAttempt.objects.update(
        attempt_time=timezone.now() - site_settings.AXES_COOLOFF_TIME - timedelta(seconds=1)
    )
    assert sign_in(client).status_code == 302


def test_an_address_that_a_caller_makes_up_does_not_go_round_the_limit(client, owner, counting):
    for number in range(counting):
        sign_in(client, password="wrong", HTTP_X_FORWARDED_FOR=f"198.51.100.{number}")
    assert sign_in(client, HTTP_X_FORWARDED_FOR="198.51.100.99").status_code == 429


def test_behind_a_proxy_the_address_it_saw_counts(client, owner, settings):
    settings.PROXIES = 1
    sign_in(client, HTTP_X_FORWARDED_FOR="203.0.113.9, 198.51.100.7")
    assert owner.sign_ins.get().address == "198.51.100.7"


def test_a_session_planted_before_signing_in_is_worth_nothing_after(client, owner):
    client.get(reverse("shop:sign_in"))
    planted = client.session
    planted["planted"] = True
    planted.save()
    client.cookies[site_settings.SESSION_COOKIE_NAME] = planted.session_key
    sign_in(client)
    assert client.session.session_key != planted.session_key
    other = Client()
    other.cookies[site_settings.SESSION_COOKIE_NAME] = planted.session_key
    assert not is_signed_in(other)


@pytest.mark.parametrize(
    "where",
    [
        "https://evil.example/",
        "//evil.example/",
        "///evil.example",
        "/\\evil.example",
        "http:evil.example",
        "javascript:alert(1)",
        "https:///evil.example",
        "\\\\evil.example",
        "/%09/evil.example",
    ],
)
def test_signing_in_never_leads_to_another_site(client, owner, where):
    led_to = sign_in(client, next=where).url
    assert "evil.example" not in led_to or led_to.startswith("/%09/")
    assert led_to.startswith("/")
    assert not led_to.startswith("//")


def test_signing_in_leads_back_to_the_page_that_asked_for_it(client, owner, machine):
    asked = client.get(machine.get_absolute_url()).url
    response = client.post(asked, {"username": "owner", "password": PASSWORD})
    assert response.url == machine.get_absolute_url()


@pytest.mark.parametrize(
    ("words", "device"),
    [(PHONE, "phone"), (TABLET, "tablet"), (DESK, "computer"), ("", "computer")],
)
def test_where_somebody_is_signed_in_is_said_in_plain_words(client, owner, words, device):
    sign_in(client, headers={"user-agent": words})
    assert f"A {device}, this one" in client.get(reverse("shop:sign_ins")).text


def test_a_browser_left_behind_is_signed_out_from_here(client, owner):
    left = Client()
    sign_in(left)
    sign_in(client)
    away = SignIn.objects.exclude(session_id=client.session.session_key).get()
    client.post(reverse("shop:end_sign_in", args=[away.pk]))
    assert (is_signed_in(left), is_signed_in(client)) == (False, True)


def test_signing_out_everywhere_else_leaves_this_browser(client, owner):
    others = [Client(), Client()]
    for browser in [*others, client]:
        sign_in(browser)
    client.post(reverse("shop:end_other_sign_ins"))
    assert [is_signed_in(browser) for browser in [*others, client]] == [False, False, True]


def test_nobody_signs_somebody_else_out(client, owner, operator):
    sign_in(Client(), username="operator")
    sign_in(client)
    theirs = operator.sign_ins.get()
    assert client.post(reverse("shop:end_sign_in", args=[theirs.pk])).status_code == 404
    assert operator.sign_ins.exists()


def test_signing_out_ends_the_entry_too(client, owner):
    sign_in(client)
    client.post(reverse("shop:sign_out"))
    assert not owner.sign_ins.exists()


def test_the_last_use_is_written_down_every_five_minutes_at_most(client, owner, clock):
    sign_in(client)
    first = owner.sign_ins.get().seen_at
    client.get(reverse("shop:waiting"))
    assert owner.sign_ins.get().seen_at == first
    clock.shift(timedelta(seconds=301))
    client.get(reverse("shop:waiting"))
    assert owner.sign_ins.get().seen_at > first


def test_a_page_costs_nothing_for_all_the_safety(client, owner, django_assert_num_queries):
    """The session and the person, as without any of it."""
    client.force_login(owner)
    with django_assert_num_queries(2):
        client.get(reverse("shop:waiting"))


def link_in(letter):
    return re.search(r"https?://[^/]+(/reset/\S+)", letter.body)[1]


@pytest.fixture
def letter(client, owner):
    owner.email = "owner@shop.example"
    owner.save()
    client.post(reverse("shop:forgotten"), {"email": owner.email})
    return posted()[-1]


def test_a_forgotten_password_is_set_anew_by_mail_once(client, owner, letter):
    page = client.get(link_in(letter), follow=True)
    where = page.redirect_chain[-1][0]
    client.post(where, {"new_password1": NEW, "new_password2": NEW})
    assert sign_in(client, password=NEW).status_code == 302
    assert "This link is closed" in Client().get(link_in(letter), follow=True).text


def test_the_answer_does_not_tell_whether_there_is_an_account(client, owner, letter):
    there = client.post(reverse("shop:forgotten"), {"email": "owner@shop.example"})
    nowhere = client.post(reverse("shop:forgotten"), {"email": "nobody@shop.example"})
    assert there.url == nowhere.url


def test_the_link_names_the_site_as_it_is_set_up_whatever_the_caller_says(client, owner, settings):
    owner.email = "owner@shop.example"
    owner.save()
    settings.ALLOWED_HOSTS = ["*"]
    client.post(reverse("shop:forgotten"), {"email": owner.email}, headers={"host": "evil.example"})
    assert "evil.example" not in posted()[-1].body
    assert site_settings.SITE_ADDRESS in posted()[-1].body


def test_a_new_password_signs_every_other_browser_out(client, owner):
    other = Client()
    sign_in(other)
    sign_in(client)
    given = {"old_password": PASSWORD, "new_password1": NEW, "new_password2": NEW}
    client.post(reverse("shop:password"), given)
    assert (is_signed_in(other), is_signed_in(client)) == (False, True)
    assert owner.sign_ins.get().session_id == client.session.session_key
