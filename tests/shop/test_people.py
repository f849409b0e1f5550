"""Who belongs where: inviting by mail, taking a place, leaving, and that a shop keeps an owner."""

import re
import uuid
from datetime import timedelta

import pytest
from django.db import IntegrityError
from django.urls import reverse
from django.utils import timezone

from shop.calendar.feed import make_address
from shop.people import inviting, memberships
from shop.people.models import Firm, FirmMembership, Invitation, Membership, Role, User
from shop.web.errors import Refused
from tests.factories import FirmMembershipFactory, MembershipFactory, ShopFactory, UserFactory
from tests.post import posted

WORDS = "indicator-and-brass-drift"


@pytest.fixture
def lead(firm):
    """Who looks after the firm's people; serves no shop."""
    return FirmMembershipFactory(firm=firm, is_admin=True).user


@pytest.fixture
def invited(shop, owner):
    """Invites somebody to the shop; the invitation as it is on record."""

    def invite(role="operator", email="new@person.example"):
        return inviting.invite(email=email, role=role, shop=shop, made_by=owner)

    return invite


def link_of(invitation):
    return reverse("shop:invitation", args=[inviting.token_of(invitation)])


def account(**changed):
    given = {
        "first_name": "Nell",
        "last_name": "Rook",
        "username": "nell",
        "length_unit": "mm",
        "password1": WORDS,
        "password2": WORDS,
    }
    return given | changed


def send(client, person, name, pk, **data):
    client.force_login(person)
    return client.post(reverse(f"shop:{name}", args=[pk]), data)


def open_as(client, person, name, *args):
    client.force_login(person)
    return client.get(reverse(f"shop:{name}", args=args)).status_code


def test_the_owner_s_invitation_is_mailed_with_a_link_that_opens(client, owner, shop):
    send(client, owner, "people", shop.pk, email="new@person.example", role="operator")
    letter = posted()[-1]
    assert (letter.to, shop.name in letter.subject) == (["new@person.example"], True)
    path = re.search(r"https?://[^/]+(/invitation/\S+)", letter.body)[1]
    client.logout()
    assert "operator at Alder Screw Works" in client.get(path).text


def test_an_invitation_sent_twice_by_one_form_is_one(client, owner, shop):
    data = {"email": "new@person.example", "role": "operator", "entry_id": uuid.uuid4()}
    for _ in range(2):
        send(client, owner, "people", shop.pk, **data)
    assert (Invitation.objects.count(), len(posted())) == (1, 1)


def test_a_new_person_makes_an_account_and_is_in(client, invited, shop):
    invitation = invited()
    assert client.post(link_of(invitation), account()).url == reverse("shop:home")
    person = User.objects.get(username="nell")
    assert person.check_password(WORDS)
    assert person.email == "new@person.example"
    assert client.get(reverse("shop:people", args=[shop.pk])).status_code == 200


@pytest.mark.parametrize("words", ["nell", "12345678", "short"])
def test_a_weak_password_makes_no_account(client, invited, words):
    response = client.post(link_of(invited()), account(password1=words, password2=words))
    assert "password2" in response.context["account"].errors
    assert not User.objects.filter(username="nell").exists()


def test_somebody_signed_in_adds_the_place_to_the_account(client, invited, shop, stranger):
    invitation = invited("owner")
    client.force_login(stranger)
    client.post(link_of(invitation))
    assert stranger.memberships.current().get(shop=shop).role == Role.OWNER
    assert User.objects.filter(last_name=stranger.last_name).count() == 1


def test_a_link_works_once(client, invited, stranger, shop):
    invitation = invited()
    client.post(link_of(invitation), account())
    client.force_login(stranger)
    assert client.get(link_of(invitation)).status_code == 404
    with pytest.raises(Refused, match="no longer works"):
        inviting.accept(invitation, stranger)
    assert not stranger.memberships.filter(shop=shop).exists()


def test_a_link_that_was_taken_back_is_closed(client, owner, invited):
    invitation = invited()
    send(client, owner, "revoke_invitation", invitation.pk)
    client.logout()
    assert client.post(link_of(invitation), account()).status_code == 404
    assert not User.objects.filter(username="nell").exists()


def test_a_link_runs_out(client, invited):
    invitation = invited()
    Invitation.objects.update(expires_at=timezone.now() - timedelta(seconds=1))
    assert client.get(link_of(invitation)).status_code == 404


def test_a_link_dies_with_the_right_of_whoever_sent_it(client, invited, owner, shop):
    invitation = invited()
    MembershipFactory(shop=shop, role=Role.OWNER)
    memberships.end_membership(owner.memberships.get())
    assert client.get(link_of(invitation)).status_code == 404


@pytest.mark.parametrize("change", [lambda t: t[:-1] + "!", lambda t: "1" + t, lambda t: "x"])
def test_a_link_cannot_be_made_up(client, invited, change):
    token = change(inviting.token_of(invited()))
    assert client.get(reverse("shop:invitation", args=[token])).status_code == 404


def test_a_contractor_brings_a_new_firm_and_looks_after_it(client, invited, shop):
    firm = {"firm_name": "Upton Alignment", "firm_address": "1 Lane"}
    client.post(link_of(invited("contractor")), account(**firm))
    place = User.objects.get(username="nell").memberships.get(shop=shop)
    assert (place.role, place.firm.name) == (Role.CONTRACTOR, "Upton Alignment")
    assert memberships.is_firm_admin(place.user, place.firm)


def test_a_contractor_without_a_firm_is_asked_for_one(client, invited):
    response = client.post(link_of(invited("contractor")), account())
    assert {"firm_name", "firm_address"} == set(response.context["brought"].errors)
    assert not User.objects.exclude(memberships__role="owner").exists()


def test_who_looks_after_a_firm_brings_that_firm(client, invited, lead, firm, shop):
    invitation = invited("contractor")
    client.force_login(lead)
    client.post(link_of(invitation), {"firm": firm.pk})
    assert lead.memberships.get(shop=shop).firm == firm


def test_nobody_brings_a_firm_they_do_not_look_after(client, invited, stranger, firm, shop):
    invitation = invited("contractor")
    client.force_login(stranger)
    client.post(link_of(invitation), {"firm": firm.pk, "firm_name": "", "firm_address": ""})
    with pytest.raises(Refused, match="looks after"):
        inviting.accept(invitation, stranger, firm=firm)
    assert not Membership.objects.filter(shop=shop, user=stranger).exists()


def test_a_firm_s_name_may_be_taken_elsewhere_without_anybody_being_told(client, invited, firm):
    same = {"firm_name": firm.name, "firm_address": "3 Lane"}
    client.post(link_of(invited("contractor")), account(**same))
    assert Firm.objects.filter(name=firm.name).count() == 2


def test_the_firm_s_lead_invites_into_the_firm(client, lead, firm):
    send(client, lead, "firm_people", firm.pk, email="new@person.example", invite="yes")
    client.logout()
    client.post(link_of(Invitation.objects.get()), account())
    assert FirmMembership.objects.current().get(user__username="nell").firm == firm


def test_the_firm_s_lead_lets_own_people_serve_a_shop_it_serves(
    client, lead, firm, contractor, shop
):
    mate = FirmMembershipFactory(firm=firm).user
    data = {"place-person": mate.pk, "place-shop": shop.pk, "place": "yes"}
    send(client, lead, "firm_people", firm.pk, **data)
    assert mate.memberships.current().get(shop=shop).firm == firm
    assert open_as(client, mate, "people", shop.pk) == 200


def test_no_firm_places_people_where_it_does_not_serve(lead, firm):
    with pytest.raises(Refused, match="does not serve"):
        memberships.place(lead, ShopFactory(), firm=firm)


def test_no_firm_places_another_firm_s_people(lead, firm, contractor, shop):
    with pytest.raises(Refused, match="does not belong"):
        memberships.place(UserFactory(), shop, firm=firm)


def test_the_lead_ends_a_contractor_s_place_but_no_operator_s(
    client, lead, contractor, operator, shop
):
    send(client, lead, "membership", contractor.memberships.get().pk, end="yes")
    assert not contractor.memberships.current().exists()
    refused = send(client, lead, "membership", operator.memberships.get().pk, end="yes")
    assert refused.status_code == 404


def test_ending_a_place_in_the_firm_ends_every_place_it_gave(lead, firm, contractor):
    place = FirmMembershipFactory(firm=firm, user=contractor)
    memberships.end_firm_membership(place)
    assert not contractor.memberships.current().exists()


def test_a_firm_keeps_somebody_who_looks_after_it(lead):
    with pytest.raises(Refused, match="the last who looks after"):
        memberships.end_firm_membership(lead.firm_memberships.get())


def test_the_last_owner_can_neither_leave_nor_become_an_operator(client, owner):
    place = owner.memberships.get()
    for data in ({"end": "yes"}, {"role": "operator"}):
        assert "last owner" in send(client, owner, "membership", place.pk, **data).text
    assert owner.memberships.current().get().role == Role.OWNER


def test_an_operator_is_made_an_owner_and_the_old_place_is_kept(client, owner, operator):
    send(client, owner, "membership", operator.memberships.get().pk, role="owner")
    assert [one.role for one in operator.memberships.order_by("pk")] == ["operator", "owner"]
    assert operator.memberships.current().get().role == Role.OWNER


def test_leaving_ends_access_at_once_and_keeps_the_authorship(client, operator, shop, machine):
    from machines.incidents.services import log_incident

    incident = log_incident(
        machine=machine, made_by=operator, happened_at=timezone.now(), what_hit="drill",
        hit_what="collet", severity="knock", may_run=True,
    )  # fmt: skip
    secret = make_address(operator)
    client.force_login(operator)
    page = machine.get_absolute_url()
    assert client.get(page).status_code == 200
    memberships.end_membership(operator.memberships.get())
    # With no place left anywhere, the session is gone too.
    assert client.get(page).url.startswith(reverse("shop:sign_in"))
    assert open_as(client, operator, "people", shop.pk) == 404
    assert client.get(reverse("shop:feed", args=[secret])).status_code == 404
    incident.refresh_from_db()
    assert incident.made_by == operator


def test_who_leaves_one_of_two_shops_stays_signed_in_for_the_other(client, operator, shop):
    other = MembershipFactory(user=operator).shop
    client.force_login(operator)
    memberships.end_membership(operator.memberships.get(shop=shop))
    assert client.get(reverse("shop:people", args=[other.pk])).status_code == 200
    assert client.get(reverse("shop:people", args=[shop.pk])).status_code == 404


def test_who_left_can_be_invited_again(client, operator, invited, shop):
    memberships.end_membership(operator.memberships.get())
    inviting.accept(invited(), operator)
    assert operator.memberships.filter(shop=shop).count() == 2


def test_nobody_belongs_to_a_shop_twice(invited, operator):
    with pytest.raises(Refused, match="belongs to"):
        inviting.accept(invited("owner"), operator)
    assert Invitation.objects.open().count() == 1


def test_a_name_with_a_line_break_puts_nothing_into_the_mail_s_head(client, owner, shop):
    shop.name = "Alder\r\nBcc: all@world.example"
    shop.save()
    send(client, owner, "people", shop.pk, email="new@person.example", role="operator")
    letter = posted()[-1]
    assert "\n" not in letter.subject
    assert letter.message()["Bcc"] is None
    assert letter.recipients() == ["new@person.example"]


@pytest.mark.parametrize("address", ["a@b.example\nBcc: c@d.example", "a@b.example, c@d.example"])
def test_an_address_that_is_more_than_one_is_refused(client, owner, shop, address):
    send(client, owner, "people", shop.pk, email=address, role="operator")
    assert posted() == []


def test_nor_by_invitations_that_are_taken_back_again(invited, monkeypatch):
    monkeypatch.setattr(inviting, "MOST_A_DAY", 3)
    for number in range(3):
        inviting.revoke(invited(email=f"{number}@person.example"))
    with pytest.raises(Refused, match="3 invitations went out within a day"):
        invited(email="one-more@person.example")
    Invitation.objects.update(made_at=timezone.now() - timedelta(days=1))
    assert invited(email="one-more@person.example").pk


def test_the_post_is_not_flooded(invited):
    for number in range(inviting.MOST_OPEN):
        invited(email=f"{number}@person.example")
    with pytest.raises(Refused, match="open invitations"):
        invited()


@pytest.mark.parametrize(
    "place",
    [{"role": "owner"}, {"role": "", "firm": None}, {"role": "x", "firm": None}],
    ids=["a role in a firm", "nothing", "no role there is"],
)
def test_the_database_knows_what_an_invitation_is_to(firm, owner, place):
    with pytest.raises(IntegrityError):
        Invitation.objects.create(
            email="a@b.example",
            made_by=owner,
            expires_at=timezone.now(),
            **{"firm": firm} | place,
        )


def test_the_people_page_costs_the_same_for_three_and_for_thirty(
    client, owner, shop, django_assert_max_num_queries
):
    client.force_login(owner)
    counts = []
    for more in (2, 27):
        MembershipFactory.create_batch(more, shop=shop)
        with django_assert_max_num_queries(12) as ran:
            client.get(reverse("shop:people", args=[shop.pk]))
        counts.append(len(ran))
    assert counts[0] == counts[1]
