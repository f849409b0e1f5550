"""At night the lists are worked out beforehand."""

import pytest
from django.core.management import call_command
from django.urls import reverse

from alignment.drift.models import MachineRisk
from shop.snapshots.models import RefreshState
from tests import factories

pytestmark = pytest.mark.django_db


def test_in_the_morning_nobody_waits(client, machine, owner, django_assert_max_num_queries):
    call_command("work_out")
    assert MachineRisk.objects.get().machine == machine
    client.force_login(owner)
    with django_assert_max_num_queries(9):
        client.get(reverse("alignment:risk"))


def test_what_nobody_sees_any_more_goes(client, machine, owner, stranger):
    factories.MembershipFactory(user=stranger, shop=machine.shop)
    factories.MembershipFactory(user=stranger, shop=factories.MachineFactory().shop)
    call_command("work_out")
    assert MachineRisk.objects.filter(machine=machine).count() == 2
    stranger.is_active = False
    stranger.save()
    call_command("work_out")
    assert MachineRisk.objects.get().machine == machine
    assert RefreshState.objects.filter(what="risk").count() == 1
