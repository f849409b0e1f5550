"""A mail address: changing one's own asks for the password, and nobody's is flooded with mail."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from shop.people.models import Tally
from shop.people.rate_limit import once_more, tidy
from shop.people.signing_in import limits
from tests.factories import PASSWORD
from tests.post import posted
from tests.together import together

pytestmark = pytest.mark.django_db

FORMER, NEW = "owner@shop.example", "new@shop.example"


@pytest.fixture
def owner(owner):
    owner.email = FORMER
    owner.save()
    return owner


@pytest.fixture
def save(client, owner, django_capture_on_commit_callbacks):
    """Saves the owner's account page with something typed over; returns the answer."""
    client.force_login(owner)

    def send(**typed):
        kept = {"first_name": owner.first_name, "last_name": owner.last_name, "length_unit": "mm"}
        with django_capture_on_commit_callbacks(execute=True):
            answer = client.post(reverse("shop:my_settings"), kept | {"email": FORMER} | typed)
        owner.refresh_from_db()
        return answer

    return send


class TestChangingIt:
    @pytest.mark.parametrize("password", ["", "wrong"])
    def test_it_is_not_changed_without_the_password(self, save, owner, password):
        page = save(email=NEW, password_now=password)
        assert owner.email == FORMER
        assert "Type your password" in str(page.context["form"].errors["password_now"])
        assert page.context["form"]["email"].value() == NEW
        assert posted() == []

    def test_with_the_password_it_is_and_the_former_address_is_told(self, save, owner):
        save(email=NEW, password_now=PASSWORD)
        assert owner.email == NEW
        (letter,) = posted()
        assert letter.recipients() == [FORMER]
        assert f"was changed from {FORMER} to {NEW}" in letter.body

    def test_an_address_taken_away_is_told_too(self, save, owner):
        save(email="", password_now=PASSWORD)
        assert f"was changed from {FORMER} to none" in posted()[0].body

    def test_the_first_address_is_told_to_nobody(self, save, owner):
        save(email="", password_now=PASSWORD)
        posted().clear()
        save(email=NEW, password_now=PASSWORD)
        assert owner.email == NEW
        assert posted() == []

    def test_anything_else_is_changed_without_it(self, save, owner):
        assert save(first_name="Ada").status_code == 302
        assert owner.first_name == "Ada"
        assert posted() == []

    def test_wrong_passwords_are_counted_as_at_signing_in(self, save, owner, settings):
        settings.AXES_ENABLED = True
        for _ in range(settings.AXES_FAILURE_LIMIT):
            answer = save(email=NEW, password_now="wrong")
        assert answer.status_code == 429
        assert save(email=NEW, password_now=PASSWORD).status_code == 429
        assert owner.email == FORMER

    def test_nobody_floods_an_address_by_changing_theirs_to_and_fro(self, save, owner):
        for number in range(limits.CHANGES_OF_ONE_ACCOUNT):
            save(email=f"{number}@shop.example", password_now=PASSWORD)
        page = save(email=NEW, password_now=PASSWORD)
        assert "changed often today" in str(page.context["form"].errors["email"])
        assert owner.email != NEW


def ask(client, address, **more):
    return client.post(reverse("shop:forgotten"), {"email": address}, **more)


class TestLinksForANewPassword:
    def test_so_many_go_to_one_address_and_the_answer_is_the_same(self, client, owner):
        answers = [ask(client, FORMER) for _ in range(limits.LINKS_TO_ONE_ADDRESS + 2)]
        assert len(posted()) == limits.LINKS_TO_ONE_ADDRESS
        pages = {(answer.status_code, answer.url) for answer in answers}
        assert pages == {(302, reverse("shop:forgotten_sent"))}

    def test_writing_it_otherwise_does_not_go_round_the_limit(self, client, owner):
        for written in (FORMER, FORMER.upper(), f" {FORMER} ", FORMER.title(), FORMER):
            ask(client, written)
        assert len(posted()) == limits.LINKS_TO_ONE_ADDRESS

    def test_coming_from_elsewhere_does_not_either(self, client, owner):
        for number in range(limits.LINKS_TO_ONE_ADDRESS + 2):
            ask(Client(REMOTE_ADDR=f"198.51.100.{number}"), FORMER)
        assert len(posted()) == limits.LINKS_TO_ONE_ADDRESS

    def test_one_client_gets_so_many_for_all_addresses_together(self, client, owner):
        for number in range(limits.LINKS_FROM_ONE_CLIENT):
            ask(client, f"nobody-{number}@shop.example")
        ask(client, FORMER)
        assert posted() == []
        ask(Client(REMOTE_ADDR="198.51.100.7"), FORMER)
        assert len(posted()) == 1

    def test_a_network_of_ipv6_is_one_client(self, owner):
        for number in range(limits.LINKS_FROM_ONE_CLIENT):
            ask(Client(REMOTE_ADDR=f"2001:db8::{number + 1}"), f"nobody-{number}@shop.example")
        ask(Client(REMOTE_ADDR="2001:db8::ffff"), FORMER)
        assert posted() == []
        ask(Client(REMOTE_ADDR="2001:db8:0:1::1"), FORMER)
        assert len(posted()) == 1

    def test_after_an_hour_a_link_goes_again(self, client, owner):
        for _ in range(limits.LINKS_TO_ONE_ADDRESS):
            ask(client, FORMER)
        Tally.objects.update(since=timezone.now() - timedelta(hours=1))
        ask(client, FORMER)
        assert len(posted()) == limits.LINKS_TO_ONE_ADDRESS + 1

    def test_what_strangers_typed_is_not_kept(self, client, owner):
        ask(client, "nobody@shop.example")
        kept = str(list(Tally.objects.values()))
        assert "nobody" not in kept
        assert "127.0.0.1" not in kept


@pytest.mark.django_db(transaction=True)
def test_of_many_who_ask_at_once_no_more_than_so_many_are_let_through():
    def ask_once():
        return once_more("a thing", most=3, within=timedelta(hours=1))

    assert sorted(together(*[ask_once] * 8)) == [False] * 5 + [True] * 3


def test_a_count_is_forgotten_after_a_while(db):
    once_more("a thing", most=3, within=timedelta(hours=1))
    Tally.objects.update(since=timezone.now() - timedelta(days=3))
    once_more("another", most=3, within=timedelta(hours=1))
    tidy()
    assert Tally.objects.count() == 1
