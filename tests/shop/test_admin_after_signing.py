"""The admin site, in the hands of somebody who may do anything there, after a visit was signed."""

import pytest
from django.contrib import admin
from django.urls import reverse

from alignment.sweeps.models import Check
from alignment.sweeps.services import save_check
from machines.visit_work.services import add_machine_to_visit
from shop.audit.freezing import rules
from shop.billing import services
from shop.billing.models import Statement
from shop.visits.models import Visit
from shop.visits.services import sign_and_issue
from tests.factories import TaxCategoryFactory, UserFactory, item_of, typed_sweep


@pytest.fixture
def keeper(client, db):
    """A browser in which somebody who may do anything is signed in; server errors stay answers."""
    client.force_login(UserFactory(is_staff=True, is_superuser=True))
    client.raise_request_exception = False
    return client


@pytest.fixture
def signed(visit, machine, contractor, firm, settings):
    """A signed visit with a check, its report and its statement."""
    settings.BEFORE_SIGNING = []
    add_machine_to_visit(visit, machine)
    save_check(
        visit=visit,
        item=item_of(machine, "guide bushing"),
        phase="as found",
        sweep=typed_sweep(12, 5),
        made_by=contractor,
    )
    sign_and_issue(visit, contractor=("A", "service"), customer=("B", "owner"))
    services.add_charge(
        visit,
        made_by=contractor,
        text="gauge hire",
        price=10,
        quantity=1,
        tax=TaxCategoryFactory(firm=firm),
    )
    services.issue_statement(visit, made_by=contractor)
    visit.refresh_from_db()
    return visit


def test_a_signed_visit_is_read_there_and_not_changed(keeper, signed):
    page = reverse("admin:shop_visit_change", args=[signed.pk])
    assert keeper.get(page).status_code == 200
    assert keeper.post(page, {"number": "1999-001", "purpose": "never"}).status_code == 403
    delete = reverse("admin:shop_visit_delete", args=[signed.pk])
    assert keeper.post(delete, {"post": "yes"}).status_code == 403
    many = {"action": "delete_selected", "_selected_action": [signed.pk], "post": "yes"}
    keeper.post(reverse("admin:shop_visit_changelist"), many)
    assert Visit.objects.get(pk=signed.pk).purpose == signed.purpose


@pytest.mark.parametrize(
    ("record", "name"),
    [
        (lambda visit: visit.shop, "shop_shop"),
        (lambda visit: visit.firm, "shop_firm"),
        (lambda visit: visit.contractor, "shop_user"),
        (lambda visit: visit.visited.get().machine, "machines_machine"),
        (lambda visit: visit.checks.get().item.station, "machines_station"),
        (lambda visit: visit.checks.get().item.sheet, "alignment_acceptancesheet"),
    ],
    ids=["shop", "firm", "person", "machine", "station", "sheet"],
)
def test_nothing_a_signed_record_names_is_deleted_there(keeper, signed, record, name):
    named = record(signed)
    answer = keeper.post(reverse(f"admin:{name}_delete", args=[named.pk]), {"post": "yes"})
    assert answer.status_code < 500
    assert type(named).objects.filter(pk=named.pk).exists()
    assert Check.objects.count() == Statement.objects.count() == 1


def test_every_frozen_table_is_read_only_there_or_checks_for_itself(rf, db):
    """Lines of a sheet refuse in their form; a machine's side is read-only there; of a station the
    form offers no column that is frozen but its machine, and refuses another one."""
    frozen = {rule.table for rule in rules()}
    request = rf.get("/admin/")
    request.user = UserFactory(is_staff=True, is_superuser=True)
    offered = [
        kept
        for model_admin in admin.site._registry.values()
        for kept in (model_admin, *model_admin.get_inline_instances(request))
        if kept.model._meta.db_table in frozen and kept.has_change_permission(request)
    ]
    assert {kept.model._meta.label for kept in offered} <= {
        "alignment.AcceptanceItem",
        "machines.Machine",
        "machines.Station",
    }
