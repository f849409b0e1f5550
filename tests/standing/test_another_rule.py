"""Where the project itself has changed, nothing that an older version worked out is shown."""

import pytest
from django.urls import reverse

from alignment.drift.models import MachineRisk
from machines.planning.models import DueTime
from machines.planning.plans import make_plan
from shop.snapshots import rule, standing_of
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def deploy(monkeypatch):
    """Have the site go on with other code."""
    return lambda: monkeypatch.setattr(rule, "VERSION", "the next")


def test_a_list_is_worked_out_by_the_rule_that_is_in_force(client, machine, owner, deploy):
    client.force_login(owner)
    client.get(reverse("alignment:risk"))
    MachineRisk.objects.update(unknown=99)
    client.get(reverse("alignment:risk"))
    assert MachineRisk.objects.get().unknown == 99
    deploy()
    client.get(reverse("alignment:risk"))
    assert MachineRisk.objects.get().unknown != 99


def test_what_is_due_is_too(client, machine, owner, deploy):
    make_plan(
        shop=machine.shop,
        machine=machine,
        made_by=owner,
        what="Way oil",
        kind="lubrication",
        weeks=1,
        starts_on=factories.today(),
    )
    client.force_login(owner)
    client.get(reverse("machines:due"))
    assert DueTime.objects.update(reason="by the former rule")
    deploy()
    client.get(reverse("machines:due"))
    assert not DueTime.objects.filter(reason="by the former rule").exists()


def test_a_kept_result_is_of_one_rule(shop, deploy):
    assert standing_of(shop).keep(lambda: "before", "chain") == "before"
    deploy()
    assert standing_of(shop).keep(lambda: "after", "chain") == "after"


def test_the_version_goes_by_code_templates_and_libraries_alone(tmp_path):
    code = tmp_path / "shop" / "rules.py"
    code.parent.mkdir()
    told = set()
    for file, text in [
        (code, "a = 1"),
        (code, "a = 2"),
        (tmp_path / "templates.html", "not below a part of the project"),
        (tmp_path / "requirements.txt", "numpy==2"),
    ]:
        file.write_text(text)
        told.add(rule.digest_of(tmp_path))
    assert len(told) == 3
