"""The first page of a site without people: who may open it, and what it makes."""

from datetime import timedelta

import pytest
from django.core import signing
from django.test import override_settings
from django.urls import reverse
from django.utils import timezone

from shop.begin import services
from shop.people.models import Firm, Membership, Role, Shop, User
from shop.web.errors import Refused

WORDS = "indicator-and-brass-drift"
BEGIN = reverse("shop:begin")
ELSEWHERE = {"REMOTE_ADDR": "192.0.2.44"}


def told(**changed):
    given = {
        "name": "Nell van Rook",
        "email": "Nell@rook.example",
        "password": WORDS,
        "again": WORDS,
        "kind": "firm",
        "business": "Rook Alignment",
        "address": "4 Weighbridge Yard",
        "country": "US",
        "time_zone": "Central Time",
        "length_unit": "in",
        "currency": "",
    }
    return given | changed


@pytest.fixture
def empty_site(db):
    assert not User.objects.exists()


@pytest.mark.usefixtures("empty_site")
class TestAnEmptySite:
    def test_signing_in_leads_to_the_first_page(self, client):
        assert client.get(reverse("shop:home"), follow=True).redirect_chain[-1][0] == BEGIN

    def test_a_firm_begins_and_is_signed_in(self, client):
        page = client.post(BEGIN, told(), follow=True)
        firm, person = Firm.objects.get(), User.objects.get()
        assert person.firm_memberships.get().is_admin
        assert (person.username, person.name) == ("nell@rook.example", "Nell van Rook")
        assert (firm.time_zone, firm.currency, firm.paper_size) == (
            "America/Chicago",
            "USD",
            "Letter",
        )
        assert "Add your first customer" in page.text

    def test_a_shop_begins_with_its_owner(self, client):
        page = client.post(BEGIN, told(kind="shop", country="CH"), follow=True)
        place = Membership.objects.get()
        assert (place.role, place.shop.kept_by) == (Role.OWNER, None)
        assert (place.shop.paper_size, place.shop.currency) == ("A4", "CHF")
        assert "Invite your people" in page.text

    def test_whoever_begins_does_not_keep_the_site(self, client):
        client.post(BEGIN, told())
        assert not User.objects.get().is_staff
        assert client.get("/admin/", follow=True).status_code == 404

    def test_it_is_not_for_others_on_the_network(self, client):
        page = client.get(BEGIN, **ELSEWHERE)
        assert (page.status_code, "Begin at the machine" in page.text) == (403, True)
        assert client.post(BEGIN, told(), **ELSEWHERE).status_code == 403
        assert not User.objects.exists()

    def test_a_proxy_on_the_machine_does_not_make_everybody_local(self, client):
        assert client.get(BEGIN, headers={"x-forwarded-for": "192.0.2.44"}).status_code == 403
        with override_settings(PROXIES=1):
            away = {"x-forwarded-for": "192.0.2.44"}
            assert client.get(BEGIN, headers=away).status_code == 403

    def test_the_link_that_the_command_prints_lets_in_from_anywhere(self, client):
        link = reverse("shop:begin_with", args=[services.new_token()])
        assert client.post(link, told(), **ELSEWHERE).status_code == 302
        assert User.objects.count() == 1

    def test_a_made_up_link_does_not(self, client):
        other = signing.dumps("begin", salt="another")
        for token in ("x", other, services.new_token() + "x"):
            link = reverse("shop:begin_with", args=[token])
            assert client.get(link, **ELSEWHERE).status_code == 403

    def test_a_link_is_good_for_three_days(self, client, monkeypatch):
        token = services.new_token()
        late = (timezone.now() + timedelta(days=3, minutes=1)).timestamp()
        monkeypatch.setattr(signing.time, "time", lambda: late)
        link = reverse("shop:begin_with", args=[token])
        assert client.get(link, **ELSEWHERE).status_code == 403

    @pytest.mark.parametrize(
        ("changed", "field", "said"),
        [
            ({"time_zone": "Middle Earth"}, "time_zone", "is not a time zone"),
            ({"again": "another"}, "again", "expected the same twice"),
            ({"password": "12345678", "again": "12345678"}, "password", "too common"),
            ({"currency": "XYZ"}, "currency", "is not a currency"),
            ({"country": ""}, "country", "required"),
        ],
    )
    def test_wrong_input_is_told_at_its_box_and_stays_typed(self, client, changed, field, said):
        page = client.post(BEGIN, told(**changed))
        assert said in " ".join(page.context["form"].errors[field])
        assert "Rook Alignment" in page.text
        assert not User.objects.exists()

    def test_who_keeps_the_site_may_be_there_before(self, client):
        User.objects.create_superuser("root", password=WORDS)
        assert client.get(BEGIN).status_code == 200
        assert client.get(reverse("shop:sign_in")).status_code == 200


def test_a_site_with_people_does_not_begin_anew(client, owner):
    link = reverse("shop:begin_with", args=[services.new_token()])
    for address in (BEGIN, link):
        assert client.post(address, told()).url == reverse("shop:home")
    assert (User.objects.count(), Firm.objects.count()) == (1, 0)


def test_two_who_begin_at_once_make_one_firm(db):
    made = {"kind": services.FIRM}
    services.begin(person=User(username="a"), business=Firm(name="A", address="B"), **made)
    with pytest.raises(Refused, match="Somebody began meanwhile"):
        services.begin(person=User(username="b"), business=Shop(name="B", address="B"), kind="shop")
    assert User.objects.count() == 1
