"""A visit's pages, from the list to the signed report."""

import hashlib
import io

import pytest
from django.urls import reverse
from pypdf import PdfReader

from machines.visit_work.services import add_machine_to_visit
from shop.visits.models import Visit
from shop.visits.services import correct_visit, for_work, sign_visit
from tests import factories

SIGNED = {
    "contractor_name": "Ada Fitter",
    "contractor_role": "Service contractor",
    "customer_name": "Bo Owner",
    "customer_role": "Works manager",
    "read": "on",
}


def page(client, user, name, visit, data=None):
    client.force_login(user)
    url = reverse(f"shop:{name}", args=[visit.pk])
    return client.get(url) if data is None else client.post(url, data)


def text_of(pdf):
    return "\n".join(sheet.extract_text() for sheet in PdfReader(io.BytesIO(pdf)).pages)


@pytest.mark.parametrize("role", ["owner", "operator", "contractor"])
def test_everybody_of_the_shop_reads_its_visits(client, request, visit, role):
    assert page(client, request.getfixturevalue(role), "visit", visit).status_code == 200


@pytest.mark.parametrize("name", ["visit", "come_back", "sign", "correct", "report"])
def test_a_visit_of_another_shop_does_not_exist(client, visit, stranger, name):
    assert page(client, stranger, name, visit).status_code == 404


@pytest.mark.parametrize("role", ["owner", "operator"])
@pytest.mark.parametrize("name", ["come_back", "sign", "correct"])
def test_only_the_contractor_works_at_a_visit(client, request, visit, role, name):
    assert page(client, request.getfixturevalue(role), name, visit).status_code == 403


def test_arriving_puts_a_planned_visit_on_site(client, contractor, visit):
    page(client, contractor, "arrive", visit, {})
    visit.refresh_from_db()
    assert visit.state == Visit.State.ON_SITE
    assert visit.arrived_at is not None


def test_signing_needs_both_names_and_keeps_what_was_typed(client, contractor, visit):
    response = page(client, contractor, "sign", visit, SIGNED | {"customer_name": ""})
    visit.refresh_from_db()
    assert not visit.is_signed
    assert 'value="Works manager"' in response.content.decode()


def test_signing_issues_the_report_once_with_its_hash(client, contractor, visit):
    page(client, contractor, "sign", visit, SIGNED)
    document = visit.documents.get()
    content = document.file.read()
    assert document.sha256 == hashlib.sha256(content).hexdigest()
    assert page(client, contractor, "report", visit).getvalue() == content


def test_a_report_names_the_shop_the_firm_and_both_who_signed(client, contractor, visit):
    page(client, contractor, "sign", visit, SIGNED)
    text = text_of(visit.documents.get().file.read())
    for expected in (visit.shop.name, visit.firm.name, "Ada Fitter", "Bo Owner", "page 1 of"):
        assert expected in text


def test_a_report_before_signing_says_it_is_a_draft(client, owner, visit):
    assert "DRAFT" in text_of(page(client, owner, "report", visit).content)


def test_a_report_that_cannot_be_made_leaves_the_visit_unsigned(
    client, contractor, visit, settings
):
    settings.REPORT_SECTIONS = ["shop.visits.report.no_such_section"]
    with pytest.raises(ImportError):
        page(client, contractor, "sign", visit, SIGNED)
    visit.refresh_from_db()
    assert not visit.is_signed


def test_a_signed_visit_takes_no_note_to_come_back_for(client, contractor, visit):
    signed = sign_visit(visit, contractor=("A", "B"), customer=("C", "D"))
    response = page(client, contractor, "come_back", signed, {"come_back_for": "a belt"})
    assert "no longer changes" in response.content.decode()
    visit.refresh_from_db()
    assert visit.come_back_for == ""


def test_a_correction_takes_up_the_same_machines_and_both_name_each_other(
    client, contractor, visit, machine
):
    add_machine_to_visit(for_work(visit), machine)
    visit.come_back_for = "everything"
    visit.save()
    sign_visit(visit, contractor=("A", "B"), customer=("C", "D"))
    page(client, contractor, "correct", visit, {"reason": "wrong belt"})
    correction = visit.corrections.get()
    assert [visited.machine for visited in correction.visited.all()] == [machine]
    assert f"visit {visit.number}" in page(client, contractor, "visit", correction).content.decode()
    assert f"visit {correction.number}" in page(client, contractor, "visit", visit).content.decode()


def test_the_report_of_a_correction_says_what_it_corrects(client, contractor, visit, firm):
    signed = sign_visit(visit, contractor=("A", "B"), customer=("C", "D"))
    correction = correct_visit(signed, made_by=contractor, firm=firm, reason="wrong belt")
    text = text_of(page(client, contractor, "report", correction).content)
    assert f"Corrects report SR-{visit.number}" in text


@pytest.mark.parametrize("visits", [3, 60])
def test_the_list_of_visits_pages_in_a_constant_number_of_queries(
    client, owner, shop, firm, contractor, visits, django_assert_max_num_queries
):
    for _ in range(visits):
        factories.VisitFactory(shop=shop, firm=firm, contractor=contractor)
    client.force_login(owner)
    with django_assert_max_num_queries(6):
        response = client.get(reverse("shop:visits"))
    assert len(response.context["table"].page.object_list) == min(visits, 25)


def test_the_list_of_visits_leaves_out_other_shops(client, stranger, visit):
    client.force_login(stranger)
    assert visit.number not in client.get(reverse("shop:visits")).content.decode()


def test_somebody_without_a_shop_is_told_what_to_do_next(client, db):
    client.force_login(factories.UserFactory())
    assert "belong to no shop" in client.get(reverse("shop:home")).content.decode()


def test_a_page_asks_to_sign_in_first_and_comes_back(client, visit):
    response = client.get(visit.get_absolute_url())
    assert response.url == f"{reverse('shop:sign_in')}?next={visit.get_absolute_url()}"


def test_a_person_chooses_the_unit_of_a_bare_number(client, contractor):
    client.force_login(contractor)
    client.post(reverse("shop:my_settings"), {"length_unit": "in", "email": contractor.email})
    contractor.refresh_from_db()
    assert contractor.length_unit == "in"


@pytest.mark.parametrize("name", ["arrive", "come_back", "sign", "correct"])
def test_no_firm_works_at_another_firm_s_visit(client, shop, visit, name):
    rival = factories.UserFactory()
    factories.MembershipFactory(user=rival, shop=shop, role="contractor")
    client.force_login(rival)
    assert client.get(visit.get_absolute_url()).status_code == 200
    assert client.post(reverse(f"shop:{name}", args=[visit.pk])).status_code == 403
