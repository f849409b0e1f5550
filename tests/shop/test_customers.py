"""A firm's customers: made, changed and closed by its people until an owner of the shop comes."""

from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from shop.billing.models import Customer
from shop.billing.services import usual_tax
from shop.calendar.services import plan_visit
from shop.calendar.times import Slot
from shop.customers import services
from shop.people import inviting, memberships
from shop.people.models import Membership, Role, Shop
from shop.web.errors import Refused
from tests import factories


@pytest.fixture
def lead(firm):
    """Somebody of the firm who serves no shop yet."""
    return factories.FirmMembershipFactory(firm=firm, is_admin=True).user


@pytest.fixture
def kept(firm, lead):
    """A customer that the firm keeps."""
    shop = Shop(name="Pintlow Works", address="2 Lane", time_zone="America/Chicago")
    return services.make_customer(shop, firm=firm, made_by=lead)


def facts(**changed):
    given = {
        "name": "Pintlow  Works",
        "address": "2 Sluice Lane",
        "contact": "Ned",
        "phone": "555 0177",
        "email": "ned@pintlow.example",
        "country": "US",
        "time_zone": "Central Time",
        "length_unit": "in",
        "currency": "USD",
        "tax_number": "T-77",
        "open_on": ["1", "2", "3", "4", "5"],
        "customer-notes": "Gate code at the desk.",
        "customer-tax": "",
    }
    return given | changed


def send(client, person, where, pk, **data):
    client.force_login(person)
    return client.post(reverse(f"shop:{where}", args=[pk]), data)


def test_a_customer_needs_no_user_of_its_own(client, lead, firm):
    send(client, lead, "new_customer", firm.pk, **facts())
    shop = Shop.objects.get()
    assert (shop.name, shop.kept_by, shop.paper_size) == ("Pintlow Works", firm, "Letter")
    assert (shop.time_zone, shop.closed_weekdays) == ("America/Chicago", "67")
    assert Membership.objects.get().role == Role.CONTRACTOR
    assert Customer.objects.get().notes == "Gate code at the desk."


def test_a_new_customer_begins_with_what_the_firm_has(client, lead, firm):
    firm.country, firm.time_zone, firm.length_unit = "US", "America/Chicago", "in"
    firm.save()
    client.force_login(lead)
    form = client.get(reverse("shop:new_customer", args=[firm.pk])).context["form"]
    assert (form["country"].value(), form["time_zone"].value()) == ("US", "America/Chicago")


def test_a_form_sent_twice_makes_one_customer(client, lead, firm):
    client.force_login(lead)
    address = reverse("shop:new_customer", args=[firm.pk])
    once = client.get(address).context["form"]["entry_id"].value()
    for _ in range(2):
        client.post(address, facts(entry_id=once))
    assert Shop.objects.count() == 1


def test_a_second_customer_of_one_name_is_refused_with_a_way_out(client, lead, firm, kept):
    page = send(client, lead, "new_customer", firm.pk, **facts(name="pintlow works"))
    assert "is a customer of Oldbridge Spindle Service already" in page.text
    assert "2 Sluice Lane" in page.text


def test_a_shop_that_an_owner_has_is_not_made_again_and_not_shown(client, lead, firm, owner, shop):
    page = send(client, lead, "new_customer", firm.pk, **facts(name="ALDER screw works"))
    assert "ask an owner to invite your firm" in page.text
    assert shop.address not in page.text
    assert owner.name not in page.text
    assert Shop.objects.count() == 1


def test_two_firms_may_each_keep_a_customer_of_one_name(kept, lead):
    other = factories.FirmFactory()
    made = services.make_customer(Shop(name="Pintlow Works", address="3"), firm=other, made_by=lead)
    assert made.kept_by == other
    with pytest.raises(IntegrityError), transaction.atomic():
        Shop.objects.create(name="Pintlow Works", address="4", kept_by=other)


def test_a_rename_to_another_s_name_is_refused(client, lead, kept, shop):
    page = send(client, lead, "edit_shop", kept.pk, **facts(name=shop.name), **PAPER)
    assert "has owners on this site" in page.text
    kept.refresh_from_db()
    assert kept.name == "Pintlow Works"


PAPER = {"paper_size": "A4", "date_form": "dmy", "week_starts_on": "1"}


def test_the_firm_does_what_an_owner_does_until_one_comes(client, lead, kept):
    send(client, lead, "edit_shop", kept.pk, **facts(phone="555 0188"), **PAPER)
    send(client, lead, "closed_weekdays", kept.pk, weekdays=["7"])
    kept.refresh_from_db()
    assert (kept.phone, kept.closed_weekdays, kept.paper_size) == ("555 0188", "7", "A4")
    client.force_login(lead)
    for name in ("people", "devices", "export"):
        assert client.get(reverse(f"shop:{name}", args=[kept.pk])).status_code == 200


def test_from_the_first_owner_on_owners_decide(client, lead, kept):
    invitation = inviting.invite(email="ned@pintlow.example", role="owner", shop=kept, made_by=lead)
    assert inviting.open_invitation(inviting.token_of(invitation)) == invitation
    ned = factories.UserFactory()
    inviting.accept(invitation, ned)
    kept.refresh_from_db()
    assert kept.kept_by is None
    assert send(client, lead, "edit_shop", kept.pk, **facts(), **PAPER).status_code == 403
    assert send(client, lead, "closed_weekdays", kept.pk).status_code == 403
    assert send(client, ned, "closed_weekdays", kept.pk).status_code == 302


def test_an_operator_who_accepts_takes_nothing_from_the_firm(firm, lead, kept):
    invitation = inviting.invite(email="a@b.example", role="operator", shop=kept, made_by=lead)
    inviting.accept(invitation, factories.UserFactory())
    kept.refresh_from_db()
    assert kept.kept_by == firm


def test_an_owner_does_not_take_over_under_a_name_that_another_shop_has(lead, kept):
    factories.ShopFactory(name="Pintlow Works")
    invitation = inviting.invite(email="a@b.example", role="owner", shop=kept, made_by=lead)
    with pytest.raises(Refused, match="add the town to the name"):
        inviting.accept(invitation, factories.UserFactory())
    invitation.refresh_from_db()
    assert invitation.accepted_at is None


def test_a_firm_does_not_keep_what_is_another_s(client, kept):
    rival = factories.MembershipFactory(shop=kept, role=Role.CONTRACTOR).user
    assert send(client, rival, "edit_shop", kept.pk, **facts(), **PAPER).status_code == 403
    assert send(client, rival, "close_customer", kept.pk, why="x").status_code == 403


def test_the_firm_s_notes_are_its_own(client, lead, kept, firm):
    services.note_customer(firm, kept, notes="Pays late.", tax=None)
    rival = factories.MembershipFactory(shop=kept, role=Role.CONTRACTOR).user
    for person, sees in ((lead, True), (rival, False)):
        client.force_login(person)
        page = client.get(reverse("shop:shop", args=[kept.pk]))
        assert ("Pays late." in page.text) == sees


def test_a_customer_is_charged_by_the_tax_chosen_for_it(firm, kept, shop):
    usual = factories.TaxCategoryFactory(firm=firm)
    free = firm.tax_categories.create(name="export", code="E", percent=0, reason="export")
    services.note_customer(firm, kept, notes="", tax=free)
    assert (usual_tax(firm, kept), usual_tax(firm, shop)) == (free, usual)


def test_nothing_is_planned_at_a_closed_customer_until_it_is_open_again(client, firm, lead, kept):
    send(client, lead, "close_customer", kept.pk, why="went out of business")
    kept.refresh_from_db()
    visit = {
        "shop": kept,
        "firm": firm,
        "contractor": lead,
        "made_by": lead,
        "purpose": "checks",
        "slot": Slot(timezone.localdate() + timedelta(days=9)),
    }
    with pytest.raises(Refused, match="closed as a customer: went out of business"):
        plan_visit(**visit)
    client.force_login(lead)
    assert "closed" in client.get(reverse("shop:customers", args=[firm.pk])).text
    send(client, lead, "reopen_customer", kept.pk)
    kept.refresh_from_db()
    assert plan_visit(**visit | {"shop": kept}).shop == kept


def test_a_customer_is_closed_with_its_reason_and_once(kept):
    with pytest.raises(Refused, match="Say why"):
        services.close_customer(kept, why=" ")
    services.close_customer(kept, why="moved away")
    with pytest.raises(Refused, match="closed already"):
        services.close_customer(kept, why="moved away")


def test_a_shop_with_owners_is_closed_by_no_firm(shop, owner):
    with pytest.raises(Refused, match="has owners"):
        services.close_customer(shop, why="x")


def test_a_kept_shop_is_left_to_somebody_of_the_firm(lead, kept, firm):
    with pytest.raises(Refused, match="which has no owner yet"):
        memberships.end_membership(lead.memberships.get())
    factories.FirmMembershipFactory(firm=firm, is_admin=True)
    with pytest.raises(Refused, match="which has no owner yet"):
        memberships.end_firm_membership(lead.firm_memberships.get())
    factories.MembershipFactory(shop=kept, role=Role.CONTRACTOR, firm=firm)
    memberships.end_membership(lead.memberships.get())
    assert not lead.memberships.current().exists()


def test_the_list_of_customers_asks_as_much_for_many_as_for_one(
    client, lead, firm, kept, django_assert_num_queries
):
    client.force_login(lead)
    address = reverse("shop:customers", args=[firm.pk])
    client.get(address)
    for count in range(30):
        if count in (0, 29):
            with django_assert_num_queries(QUERIES_OF_LIST):
                client.get(address)
        services.make_customer(Shop(name=f"Works {count}", address="x"), firm=firm, made_by=lead)
    assert client.get(address).context["page"].has_next()


QUERIES_OF_LIST = 5
