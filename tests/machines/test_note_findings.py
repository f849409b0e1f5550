"""What was found at a machine, in words."""

import pytest
from django.urls import reverse

from machines.visit_work.services import add_machine_to_visit, note_findings
from shop.visits.services import sign_visit
from tests import factories

NAMES = {"contractor": ("Ida M.", "service"), "customer": ("Tom Q.", "owner")}


@pytest.fixture
def visited(visit, machine):
    return add_machine_to_visit(visit, machine)


def write(client, person, visited, text):
    client.force_login(person)
    url = reverse("machines:findings", args=[visited.pk])
    return client.post(url, {"findings": text})


def test_the_contractor_writes_them_down(client, contractor, visited):
    response = write(client, contractor, visited, "Housing cocked.\nJack screws free.")
    visited.refresh_from_db()
    assert response.url == visited.visit.get_absolute_url()
    assert visited.findings.splitlines() == ["Housing cocked.", "Jack screws free."]


def test_what_was_written_comes_back_for_changing(client, contractor, visited):
    note_findings(visited, "Housing cocked.")
    client.force_login(contractor)
    shown = client.get(reverse("machines:findings", args=[visited.pk])).content.decode()
    assert "Housing cocked." in shown


def test_a_signed_visit_keeps_them_and_what_was_typed_stays_typed(
    client, contractor, visited, settings
):
    settings.BEFORE_SIGNING = []
    note_findings(visited, "Housing cocked.")
    sign_visit(visited.visit, **NAMES)
    response = write(client, contractor, visited, "Nothing wrong.")
    assert "no longer changes" in str(response.context["form"].errors["findings"])
    assert response.context["form"]["findings"].value() == "Nothing wrong."
    visited.refresh_from_db()
    assert visited.findings == "Housing cocked."


@pytest.mark.parametrize("role", ["owner", "operator"])
def test_they_are_the_contractors_words(client, request, visited, role):
    person = request.getfixturevalue(role)
    assert write(client, person, visited, "All fine.").status_code == 403


def test_another_shops_are_not_found(client, stranger, visited):
    assert write(client, stranger, visited, "All fine.").status_code == 404


def test_a_contractor_of_another_shop_finds_none(client, visited, firm):
    elsewhere = factories.MembershipFactory(role="contractor", firm=firm).user
    assert write(client, elsewhere, visited, "All fine.").status_code == 404
