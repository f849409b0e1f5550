"""Whoever came with a shop has no password here: a link by mail lets them in, and nobody else."""

from datetime import timedelta

import pytest
from django.contrib.auth.hashers import make_password
from django.urls import reverse

from shop.people import letting_in
from tests.factories import MembershipFactory
from tests.post import posted

pytestmark = pytest.mark.django_db
WORDS = "indicator-and-brass-drift"
NEW = {"new_password1": WORDS, "new_password2": WORDS}


@pytest.fixture
def newcomer(shop):
    place = MembershipFactory(shop=shop, role="contractor", user__username="newcomer")
    place.user.password, place.user.email = make_password(None), "newcomer@shop.example"
    place.user.save()
    return place


def ask(client, person, place):
    client.force_login(person)
    return client.post(reverse("shop:membership", args=[place.pk]), {"let_in": "yes"})


def link():
    return f"/welcome/{posted()[-1].body.split('/welcome/')[1].split()[0]}"


def test_forgotten_password_leads_nowhere_and_the_owner_s_link_does(client, owner, newcomer):
    client.post(reverse("shop:forgotten"), {"email": newcomer.user.email})
    assert posted() == []
    assert ask(client, owner, newcomer).status_code == 302
    client.logout()
    assert client.post(link(), NEW).url == reverse("shop:sign_in")
    given = {"username": "newcomer", "password": WORDS}
    assert client.post(reverse("shop:sign_in"), given).status_code == 302


def test_the_link_works_once_and_for_fourteen_days(client, owner, newcomer, clock):
    ask(client, owner, newcomer)
    there = link()
    client.logout()
    clock.shift(letting_in.OPEN_FOR + timedelta(seconds=1))
    assert client.get(there).status_code == 404
    clock.shift(-timedelta(days=1))
    assert client.post(there, NEW).status_code == 302
    assert client.get(there).status_code == 404


def test_who_asks_for_it_never_sees_it(client, owner, newcomer):
    ask(client, owner, newcomer)
    page = client.get(reverse("shop:membership", args=[newcomer.pk])).content.decode()
    assert "welcome" not in page


@pytest.mark.parametrize("who", ["operator", "stranger"])
def test_nobody_but_the_owner_lets_somebody_in(client, request, newcomer, who):
    person = request.getfixturevalue(who)
    assert ask(client, person, newcomer).status_code in {403, 404}
    assert posted() == []


def test_somebody_with_a_password_is_not_let_in_anew(client, owner, newcomer):
    newcomer.user.set_password(WORDS)
    newcomer.user.save()
    ask(client, owner, newcomer)
    assert posted() == []


@pytest.mark.parametrize("token", ["x", "a:b:c"])
def test_a_forged_link_is_none(client, db, token):
    assert client.get(reverse("shop:welcome", args=[token])).status_code == 404
