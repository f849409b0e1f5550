"""Each address of the site, for each role: who is let in, who may only read, for whom it is not."""

import pytest
from django.conf import settings
from django.db import transaction
from django.urls import reverse

from .addresses import names
from .rules import ANONYMOUS, FORMER, ROLES, RULES

# Let in: shown, led on, told that what was sent is not right, or that the site is not well.
LET_IN = {200, 302, 400, 422, 503}
ENDS_THE_SESSION = {"shop:sign_out", "shop:device_set_up"}


def test_every_address_has_a_rule():
    missing = sorted(set(names()) - set(RULES))
    assert not missing, f"say in tests/access/rules.py who may open and send {missing}"


def test_every_rule_has_an_address():
    gone = sorted(set(RULES) - set(names()))
    assert not gone, f"take {gone} out of tests/access/rules.py: no address is called so"


@pytest.mark.parametrize("role", ROLES)
def test_everybody_opens_what_is_for_them_and_nothing_else(client, world, role):
    assert answers_but_for_the_rules(client, world, "get", role) == []


@pytest.mark.parametrize("role", ROLES)
def test_everybody_sends_what_is_for_them_and_nothing_else(client, world, role):
    assert answers_but_for_the_rules(client, world, "post", role) == []


def test_nobody_opens_a_record_of_a_shop_they_do_not_belong_to(client, world, foreign):
    """The foreign shop has the same records, with other numbers."""
    for role in set(ROLES) - {ANONYMOUS}:
        client.force_login(world.people[role])
        for name, rule in RULES.items():
            if rule.records and not rule.public:
                address = reverse(name, args=foreign.args(rule.records))
                method = "get" if rule.is_shown else "post"
                assert (role, address, getattr(client, method)(address).status_code) == (
                    role, address, 404,
                )  # fmt: skip


def test_what_is_of_two_records_is_never_of_two_shops(client, world, foreign):
    """A visit of the own shop with a belt of another, and the other way round."""
    client.force_login(world.contractor)
    for name, rule in RULES.items():
        parts = rule.records.split()
        records = [one for one in parts if not isinstance(getattr(world, one), str)]
        for strange in records if len(records) > 1 else ():
            args = [(foreign if one == strange else world).args(one)[0] for one in parts]
            address = reverse(name, args=args)
            method = "get" if rule.is_shown else "post"
            assert (address, getattr(client, method)(address).status_code) == (address, 404)


@pytest.mark.parametrize("role", [ANONYMOUS, FORMER, "owner", "contractor"])
def test_the_admin_is_for_nobody_but_staff(client, world, role):
    """Who is not signed in is led there; for anybody else it does not exist, and never loops."""
    if role != ANONYMOUS:
        client.force_login(world.people[role])
    for name in ("index", "shop_user_changelist", "shop_firm_add", "machines_machine_changelist"):
        response = client.get(reverse(f"admin:{name}"), follow=role != ANONYMOUS)
        assert response.status_code == (302 if role == ANONYMOUS else 404)


def answers_but_for_the_rules(client, world, method, role):
    """(name, what came, what should have come) of each address that answers otherwise."""
    if role != ANONYMOUS:
        client.force_login(world.people[role])
    wrong = []
    for name, rule in RULES.items():
        with transaction.atomic():
            address = reverse(name, args=world.args(rule.records))
            response = getattr(client, method)(address, rule.data)
            transaction.set_rollback(True)
        came, should = answer(response), rule.status(method, role)
        if came != should:
            wrong.append((name, came, should))
        if name in ENDS_THE_SESSION and role != ANONYMOUS:
            client.cookies.clear()
            client.force_login(world.people[role])
    return wrong


def answer(response):
    """What a response says: "in", "sign in", or the status."""
    if response.status_code == 302 and response.url.startswith(reverse(settings.LOGIN_URL)):
        return "sign in" if "next=" in response.url else "in"
    return "in" if response.status_code in LET_IN else response.status_code
