"""The second factor: set up, asked for, limited, and without it no further."""

import time

import pytest
from django.test import Client
from django.urls import reverse
from django_otp.oath import hotp
from django_otp.plugins.otp_static.models import StaticToken
from django_otp.plugins.otp_totp.models import TOTPDevice

from shop.people.devices import services
from shop.people.devices.sessions import COOKIE
from shop.people.models import User
from tests.factories import PASSWORD

PAGE = "shop:second_factor"
SURE = {"password_now": PASSWORD}


@pytest.fixture
def clock(monkeypatch):
    """The time of day of the codes, to be moved on: no code works twice."""

    class Clock:
        now = time.time()

        def code(self, person):
            """What the person's app shows now."""
            self.now += 30
            device = TOTPDevice.objects.get(user=person)
            step = int(self.now // 30)
            return f"{hotp(device.bin_key, step):06d}"

    clock = Clock()
    monkeypatch.setattr("django_otp.plugins.otp_totp.models.time.time", lambda: clock.now)
    return clock


@pytest.fixture
def set_up(client, owner, clock):
    """The owner has a second factor; the recovery codes."""
    client.force_login(owner)
    client.get(reverse(PAGE))
    page = client.post(reverse(PAGE), {"code": clock.code(owner), **SURE})
    client.logout()
    return page.context["codes"]


def password(client, username="owner", **more):
    address = reverse("shop:sign_in") + (f"?next={more['next']}" if more else "")
    return client.post(address, {"username": username, "password": PASSWORD})


def give(client, code):
    return client.post(reverse("shop:sign_in_code"), {"code": code})


def is_in(client):
    return client.get(reverse("shop:home")).status_code == 200


@pytest.mark.parametrize(
    ("moment", "code"),
    [(59, 94287082), (1111111109, 7081804), (1234567890, 89005924), (20000000000, 65353130)],
)
def test_codes_are_those_of_rfc_6238(moment, code):
    # RFC 6238, appendix B, SHA-1, eight digits, the secret "12345678901234567890".
    assert hotp(b"12345678901234567890", moment // 30, digits=8) == code


def test_the_app_is_taken_into_use_with_its_first_code(client, owner, clock):
    client.force_login(owner)
    assert client.get(reverse("shop:second_factor_picture")).content.startswith(b"<?xml")
    wrong = client.post(reverse(PAGE), {"code": "000000", **SURE})
    assert "not the code" in str(wrong.context["form"].errors)
    assert not TOTPDevice.objects.get().confirmed
    TOTPDevice.objects.update(throttling_failure_count=0, throttling_failure_timestamp=None)
    page = client.post(reverse(PAGE), {"code": clock.code(owner), **SURE})
    assert TOTPDevice.objects.get().confirmed
    assert len(set(page.context["codes"])) == 10


def test_the_key_is_not_shown_again_once_it_is_in_use(client, owner, set_up, clock):
    password(client)
    give(client, clock.code(owner))
    assert client.get(reverse("shop:second_factor_picture")).status_code == 404


def test_the_password_alone_opens_nothing(client, owner, set_up):
    assert password(client).url == reverse("shop:sign_in_code")
    assert not is_in(client)


def test_password_and_code_open_the_page_that_was_asked_for(client, owner, set_up, clock):
    password(client, next=reverse("shop:visits"))
    assert give(client, clock.code(owner)).url == reverse("shop:visits")
    assert is_in(client)


def test_the_session_is_another_after_the_password_and_after_the_code(client, owner, set_up, clock):
    client.get(reverse("shop:sign_in"))
    keys = [client.session.session_key]
    password(client)
    keys.append(client.session.session_key)
    give(client, clock.code(owner))
    keys.append(client.session.session_key)
    assert len(set(keys)) == 3


def test_a_code_works_once(client, owner, set_up, clock):
    code = clock.code(owner)
    password(client)
    give(client, code)
    other = Client()
    password(other)
    give(other, code)
    assert not is_in(other)


def test_wrong_codes_make_the_next_one_wait(client, owner, set_up, clock):
    password(client)
    give(client, "000000")
    response = give(client, clock.code(owner))
    assert "Wait" in str(response.context["form"].errors)
    assert not is_in(client)


def test_after_five_wrong_codes_the_password_is_asked_for_again(client, owner, set_up):
    password(client)
    for _ in range(4):
        assert give(client, "000000").status_code == 200
    assert give(client, "000000").url == reverse("shop:sign_in")
    assert client.get(reverse("shop:sign_in_code")).url == reverse("shop:sign_in")


def test_ten_minutes_after_the_password_it_is_asked_for_again(client, owner, set_up, clock):
    password(client)
    session = client.session
    pending = session["waits for its second factor"]
    session["waits for its second factor"] = pending | {"since": time.time() - 601}
    session.save()
    assert give(client, clock.code(owner)).url == reverse("shop:sign_in")


def test_a_code_for_once_signs_in_once(client, owner, set_up):
    password(client)
    give(client, set_up[0].upper())
    assert is_in(client)
    other = Client()
    password(other)
    give(other, set_up[0])
    assert not is_in(other)
    assert StaticToken.objects.count() == 9


def test_codes_for_once_are_not_kept_as_they_are(set_up):
    kept = set(StaticToken.objects.values_list("token", flat=True))
    assert not kept & {code.replace("-", "") for code in set_up}


def test_nobody_signs_in_with_another_person_s_code(client, owner, set_up, contractor, clock):
    client.force_login(contractor)
    client.get(reverse(PAGE))
    client.post(reverse(PAGE), {"code": clock.code(contractor), **SURE})
    client.logout()
    password(client)
    give(client, clock.code(contractor))
    assert not is_in(client)


def test_setting_it_up_signs_every_other_browser_out(client, owner, clock):
    other = Client()
    other.force_login(owner)
    client.force_login(owner)
    client.get(reverse(PAGE))
    client.post(reverse(PAGE), {"code": clock.code(owner), **SURE})
    assert (is_in(other), is_in(client)) == (False, True)


def test_an_app_is_not_taken_into_use_by_a_wrong_password_with_the_right_code(client, owner, clock):
    client.force_login(owner)
    client.get(reverse(PAGE))
    client.post(reverse(PAGE), {"code": clock.code(owner), "password_now": "not mine at all"})
    assert not TOTPDevice.objects.filter(confirmed=True).exists()


@pytest.mark.parametrize("what", ["remove", "renew"])
def test_a_code_without_the_password_changes_nothing_and_is_not_used_up(
    client, owner, set_up, clock, what
):
    password(client)
    give(client, clock.code(owner))
    code, kept = clock.code(owner), set(StaticToken.objects.values_list("token"))
    client.post(reverse(PAGE), {"code": code, what: "yes", "password_now": "not mine at all"})
    assert TOTPDevice.objects.exists()
    assert set(StaticToken.objects.values_list("token")) == kept
    client.post(reverse(PAGE), {"code": code, what: "yes", **SURE})
    assert set(StaticToken.objects.values_list("token")) != kept


def test_it_is_taken_off_only_with_a_code(client, owner, set_up, clock):
    password(client)
    give(client, clock.code(owner))
    client.post(reverse(PAGE), {"code": "nothing", "remove": "yes", **SURE})
    assert TOTPDevice.objects.exists()
    client.post(reverse(PAGE), {"code": clock.code(owner), "remove": "yes", **SURE})
    assert not TOTPDevice.objects.exists()


@pytest.fixture
def asked_for(settings):
    settings.SECOND_FACTOR = True


@pytest.mark.parametrize("who", ["owner", "contractor"])
def test_where_the_site_asks_for_it_owners_and_contractors_go_no_further(
    client, request, asked_for, machine, who
):
    client.force_login(request.getfixturevalue(who))
    for address in (reverse("shop:home"), machine.get_absolute_url(), reverse("shop:sign_ins")):
        assert client.get(address).url == reverse(PAGE)
    assert client.get(reverse(PAGE)).status_code == 200


def test_an_operator_is_not_asked_for_it(client, asked_for, operator):
    client.force_login(operator)
    assert is_in(client)


def test_with_the_code_given_an_owner_goes_on(client, asked_for, owner, set_up, clock):
    password(client)
    give(client, clock.code(owner))
    assert is_in(client)


def test_whoever_came_in_another_way_gives_the_code_first(client, asked_for, owner, set_up, clock):
    client.force_login(owner)
    assert client.get(reverse("shop:home")).url == reverse(PAGE)
    client.post(reverse(PAGE), {"code": clock.code(owner), **SURE})
    assert is_in(client)


def test_a_queued_entry_waits_instead_of_being_lost(client, asked_for, owner, machine):
    client.force_login(owner)
    address = reverse("machines:stop", args=[machine.pk])
    response = client.post(address, headers={"x-entry-made-by": str(owner.pk)})
    assert (response.status_code, response.json()) == (401, {"sign_in": reverse(PAGE)})


def test_the_admin_asks_staff_for_it_too(client, asked_for, db):
    staff = User.objects.create_superuser("staff", password=PASSWORD)
    client.force_login(staff)
    assert client.get(reverse("admin:index")).url == reverse(PAGE)


def test_the_admin_has_no_way_in_of_its_own(client, owner, set_up):
    User.objects.filter(pk=owner.pk).update(is_staff=True, is_superuser=True)
    address = reverse("admin:login")
    assert client.get(address).url.startswith(reverse("shop:sign_in"))
    client.post(address, {"username": "owner", "password": PASSWORD})
    assert not is_in(client)


def test_who_gave_it_costs_one_query_a_page(
    client, asked_for, owner, set_up, clock, django_assert_num_queries
):
    password(client)
    give(client, clock.code(owner))
    with django_assert_num_queries(3):
        client.get(reverse("shop:waiting"))


def test_an_owner_at_a_shared_device_logs_by_pin_and_gets_no_further(asked_for, shop, owner):
    device = services.allow_device(shop=shop, name="tablet", made_by=owner)
    services.set_pin(owner, "4831")
    tablet = Client()
    tablet.cookies[COOKIE] = services.set_up(services.new_code(device))[1]
    tablet.post(reverse("shop:device_pin", args=[owner.pk]), {"pin": "4831"})
    logging = reverse("machines:at_device")
    assert tablet.get(logging).status_code == 200
    for page in ("shop:home", "shop:statements", PAGE):
        assert tablet.get(reverse(page)).url == logging
