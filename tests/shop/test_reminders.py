"""Reminders: one digest per person, each thing told once, whoever runs it and from where."""

from datetime import timedelta

import pytest
from django.core.management import call_command
from django.utils import timezone

from machines.drive.models import Recommendation
from machines.planning.plans import make_plan, mark_done
from shop.calendar import reminders
from shop.people.models import User
from tests import factories
from tests.post import posted
from tests.together import together


@pytest.fixture
def told(owner):
    """The owner, with a mail address."""
    User.objects.filter(pk=owner.pk).update(email="owner@shop.example")
    owner.refresh_from_db()
    return owner


@pytest.fixture
def overdue(machine, owner):
    return make_plan(
        shop=machine.shop, machine=machine, made_by=owner, what="Way oil", kind="lubrication",
        weeks=1, starts_on=factories.today() - timedelta(days=30),
    )  # fmt: skip


def run():
    call_command("remind", verbosity=0)


def test_what_is_overdue_comes_in_one_mail(told, overdue):
    run()
    (message,) = posted()
    assert message.to == ["owner@shop.example"]
    assert message.subject == "Sweepbook: 1 overdue"
    assert "new: Way oil, machine M1" in message.body
    assert f"http://127.0.0.1:8000{overdue.get_absolute_url()}" in message.body


def test_running_again_sends_nothing(told, overdue):
    run()
    run()
    assert len(posted()) == 1


def test_done_and_overdue_again_is_told_again(told, overdue, machine):
    run()
    mark_done(overdue, machine, made_by=told, at=timezone.now() - timedelta(days=20))
    run()
    assert len(posted()) == 2


def test_a_digest_marks_what_is_new_and_repeats_what_is_still_open(told, overdue, machine):
    run()
    make_plan(
        shop=machine.shop, machine=machine, made_by=told, what="Belts", kind="belt",
        weeks=1, starts_on=factories.today(),
    )  # fmt: skip
    run()
    body = posted()[1].body
    assert "new: Belts" in body
    assert "new: Way oil" not in body
    assert "Way oil" in body


def test_a_replacement_waits_for_the_owner(told, machine, contractor):
    Recommendation.objects.create(
        machine=machine, made_by=contractor, subject="belt", what="Replace the belt",
        urgency="watch", reason="worn",
    )  # fmt: skip
    run()
    assert "WAITING FOR YOUR ANSWER" in posted()[0].body


@pytest.mark.parametrize(
    "change", [{"email": ""}, {"wants_reminders": False}, {"is_active": False}]
)
def test_who_does_not_want_mail_gets_none(told, overdue, change):
    User.objects.filter(pk=told.pk).update(**change)
    run()
    assert posted() == []


def test_who_has_left_the_shop_gets_none(told, overdue):
    told.memberships.update(ended_at=timezone.now())
    run()
    assert posted() == []


def test_operators_are_not_mailed(operator, overdue):
    User.objects.filter(pk=operator.pk).update(email="op@shop.example")
    run()
    assert posted() == []


@pytest.mark.django_db(transaction=True)
def test_from_many_places_at_once_each_thing_is_sent_once():
    owner = factories.MembershipFactory(role="owner").user
    User.objects.filter(pk=owner.pk).update(email="owner@shop.example")
    shop = owner.memberships.get().shop
    for number in range(3):
        make_plan(
            shop=shop, machine=factories.MachineFactory(shop=shop), made_by=owner,
            what=f"oil {number}", kind="lubrication", weeks=1,
            starts_on=factories.today() - timedelta(days=30),
        )  # fmt: skip
    ran = together(*[reminders.remind_everybody] * 4)
    assert [one for one in ran if isinstance(one, Exception)] == []
    assert sum(message.body.count("new: ") for message in posted()) == 3
