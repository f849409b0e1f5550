"""A device shared at the machines: allowed by the owner, opened by PIN, held to logging."""

import re
from datetime import timedelta

import pytest
from django.contrib.sessions.models import Session
from django.test import Client
from django.urls import get_resolver, reverse
from django.utils import timezone

from machines.drive.models import BeltInspection
from machines.incidents.models import Incident
from shop.people.devices import services
from shop.people.devices.sessions import COOKIE, IDLE_S
from shop.people.models import PinTries, Role, SharedDevice
from tests.factories import (
    PASSWORD,
    MembershipFactory,
    ShopFactory,
    UserFactory,
    five_station_machine,
)

PIN, WRONG = "4831", "9999"
HIT = {"kind": "noise", "may_run": "yes", "happened_at": "2025-03-05T09:00"}


@pytest.fixture
def device(shop, owner):
    return services.allow_device(shop=shop, name="tablet at the loaders", made_by=owner)


@pytest.fixture
def tablet(device):
    """The browser that was made the device; nobody is signed in on it."""
    _device, secret = services.set_up(services.new_code(device))
    browser = Client()
    browser.cookies[COOKIE] = secret
    return browser


@pytest.fixture
def with_pin(operator):
    services.set_pin(operator, PIN)
    return operator


@pytest.fixture
def stay(tablet, with_pin):
    """The tablet with the operator signed in by PIN."""
    type_pin(tablet, with_pin)
    return tablet


def type_pin(browser, person, pin=PIN, **more):
    return browser.post(reverse("shop:device_pin", args=[person.pk]), {"pin": pin, **more})


def names(browser):
    return browser.get(reverse("shop:device")).text


def label(machine):
    return reverse("machines:at_machine", args=[machine.code])


def log_form(machine):
    return reverse("alignment:log_incident", args=[machine.pk])


def signed_in(browser):
    return "_auth_user_id" in browser.session


class TestAllowing:
    """What the owner does, and what nobody else may."""

    def test_the_owner_gets_a_code_to_open_on_the_device(self, client, owner, shop):
        client.force_login(owner)
        page = client.post(reverse("shop:devices", args=[shop.pk]), {"name": "tablet"}).text
        address = re.search(r'value="(http[^"]+/device/set-up/\w+/)"', page)[1]
        browser = Client()
        browser.post(address)
        assert "tablet" in names(browser)

    def test_a_code_works_once(self, device):
        code = services.new_code(device)
        assert services.set_up(code) is not None
        assert Client().post(reverse("shop:device_set_up", args=[code])).status_code == 404

    def test_looking_at_a_code_does_not_use_it_up(self, device):
        """Programs that show a preview of a link open it."""
        code = services.new_code(device)
        assert Client().get(reverse("shop:device_set_up", args=[code])).status_code == 200
        assert services.set_up(code) is not None

    def test_an_old_code_is_no_good(self, device):
        code = services.new_code(device)
        SharedDevice.objects.update(code_until=timezone.now() - timedelta(seconds=1))
        assert Client().post(reverse("shop:device_set_up", args=[code])).status_code == 404

    def test_a_code_may_be_typed_in_small_letters_and_groups(self, device):
        code = services.new_code(device)
        typed = f"{code[:5]} {code[5:]}".lower()
        answer = Client().post(reverse("shop:device"), {"code": typed})
        assert answer.url == reverse("shop:device_set_up", args=[code])

    def test_a_wrong_code_is_refused_at_its_box(self, device):
        page = Client().post(reverse("shop:device"), {"code": "ABCDE FGHJK"})
        assert "This code is wrong" in page.text

    def test_neither_code_nor_secret_is_kept(self, device):
        code = services.new_code(device)
        device.refresh_from_db()
        assert code not in device.code_sha256
        _device, secret = services.set_up(code)
        device.refresh_from_db()
        assert secret not in device.secret_sha256

    def test_the_cookie_is_out_of_reach_of_scripts_and_other_sites(self, device):
        answer = Client().post(reverse("shop:device_set_up", args=[services.new_code(device)]))
        cookie = answer.cookies[COOKIE]
        assert cookie["httponly"]
        assert cookie["samesite"] == "Lax"

    def test_setting_a_browser_up_signs_out_whoever_was_signed_in_on_it(
        self, client, device, owner
    ):
        client.force_login(owner)
        client.post(reverse("shop:device_set_up", args=[services.new_code(device)]))
        assert not signed_in(client)

    def test_a_device_set_up_anew_leaves_the_old_browser_out(self, tablet, device, with_pin):
        services.set_up(services.new_code(device))
        assert with_pin.name not in names(tablet)

    def test_two_allowed_devices_do_not_share_a_name(self, client, device, owner, shop):
        client.force_login(owner)
        page = client.post(reverse("shop:devices", args=[shop.pk]), {"name": device.name})
        assert "another name" in page.text
        assert SharedDevice.objects.count() == 1

    def test_the_list_says_when_a_device_was_last_used(self, client, owner, shop, stay, device):
        SharedDevice.objects.update(used_at=timezone.now() - timedelta(days=9))
        stay.get(reverse("machines:at_device"))
        device.refresh_from_db()
        assert timezone.now() - device.used_at < timedelta(minutes=1)

    @pytest.mark.parametrize(
        ("who", "status"),
        [("owner", 200), ("operator", 403), ("contractor", 403), ("stranger", 404)],
    )
    def test_only_the_owner_sees_and_allows_devices(self, client, request, device, who, status):
        client.force_login(request.getfixturevalue(who))
        assert client.get(reverse("shop:devices", args=[device.shop_id])).status_code == status
        made = client.post(reverse("shop:device_code", args=[device.pk]))
        assert made.status_code == status
        expected = 302 if status == 200 else status
        assert client.post(reverse("shop:revoke_device", args=[device.pk])).status_code == expected


class TestTakingBack:
    def test_a_device_taken_back_offers_nobody(self, tablet, with_pin, device, owner):
        services.revoke_device(device, by=owner)
        page = tablet.get(reverse("shop:device"))
        assert with_pin.name not in page.text
        assert "a shared device no longer" in page.text

    def test_a_stay_ends_when_its_device_is_taken_back(self, stay, machine, device, owner):
        services.revoke_device(device, by=owner)
        assert stay.get(log_form(machine)).status_code == 302
        assert not signed_in(stay)

    def test_no_pin_is_taken_on_it(self, tablet, with_pin, device, owner):
        services.revoke_device(device, by=owner)
        assert type_pin(tablet, with_pin).status_code == 302
        assert not signed_in(tablet)

    def test_it_gets_no_further_code(self, client, device, owner):
        services.revoke_device(device, by=owner)
        client.force_login(owner)
        client.post(reverse("shop:device_code", args=[device.pk]))
        device.refresh_from_db()
        assert device.code_sha256 == ""


class TestNames:
    def test_the_shop_s_people_with_a_pin_are_offered(self, tablet, with_pin, owner):
        assert with_pin.name in names(tablet)
        assert owner.name not in names(tablet)

    def test_a_person_of_another_shop_is_not_offered_and_not_let_in(self, tablet, stranger):
        services.set_pin(stranger, PIN)
        assert stranger.name not in names(tablet)
        assert type_pin(tablet, stranger).status_code == 404
        assert not signed_in(tablet)

    def test_a_contractor_is_no_person_of_the_shop(self, tablet, contractor):
        services.set_pin(contractor, PIN)
        assert contractor.name not in names(tablet)

    def test_whoever_left_the_shop_is_not_offered(self, tablet, with_pin):
        with_pin.memberships.update(ended_at=timezone.now())
        assert with_pin.name not in names(tablet)

    def test_on_any_other_browser_nobody_is_offered(self, client, tablet, with_pin):
        assert with_pin.name not in names(client)

    def test_a_secret_that_was_guessed_opens_nothing(self, client, tablet, with_pin):
        client.cookies[COOKIE] = "guessed"
        assert with_pin.name not in names(client)
        assert type_pin(client, with_pin).status_code == 302
        assert not signed_in(client)


class TestPin:
    def test_the_right_pin_signs_in(self, tablet, with_pin):
        assert type_pin(tablet, with_pin).url == reverse("machines:at_device")
        assert tablet.session["_auth_user_id"] == str(with_pin.pk)

    def test_a_wrong_pin_says_how_many_tries_are_left(self, tablet, with_pin):
        assert "4 more tries" in type_pin(tablet, with_pin, WRONG).text
        assert not signed_in(tablet)

    def test_after_five_wrong_ones_the_name_waits_also_with_the_right_one(self, tablet, with_pin):
        for _ in range(5):
            page = type_pin(tablet, with_pin, WRONG)
        assert "it waits until" in page.text
        assert "it waits until" in type_pin(tablet, with_pin).text
        assert not signed_in(tablet)

    def test_another_name_does_not_wait_with_it(self, tablet, with_pin, owner):
        services.set_pin(owner, PIN)
        for _ in range(5):
            type_pin(tablet, with_pin, WRONG)
        type_pin(tablet, owner)
        assert tablet.session["_auth_user_id"] == str(owner.pk)

    def test_after_the_wait_the_right_pin_is_taken(self, tablet, with_pin):
        for _ in range(5):
            type_pin(tablet, with_pin, WRONG)
        PinTries.objects.update(waits_until=timezone.now() - timedelta(seconds=1))
        type_pin(tablet, with_pin)
        assert signed_in(tablet)
        assert not PinTries.objects.exists()

    def test_each_five_more_make_it_wait_twice_as_long_up_to_a_day(self, device, with_pin):
        waited = []
        for _round in range(9):
            for _ in range(5):
                with pytest.raises(services.Refused):
                    services.check_pin(device, with_pin, WRONG)
            waits = PinTries.objects.get().waits_until - timezone.now()
            waited.append(round(waits.total_seconds() / 60))
            PinTries.objects.update(waits_until=None)
        assert waited == [15, 30, 60, 120, 240, 480, 960, 1440, 1440]

    def test_the_right_pin_in_between_starts_the_count_anew(self, device, with_pin):
        for _ in range(3):
            for _ in range(4):
                with pytest.raises(services.Refused):
                    services.check_pin(device, with_pin, WRONG)
            services.check_pin(device, with_pin, PIN)

    def test_a_pin_is_typed_into_a_box_that_hides_it_and_is_not_sent_back(self, tablet, with_pin):
        page = type_pin(tablet, with_pin, WRONG).text
        assert 'type="password"' in page
        assert WRONG not in page

    def test_an_address_elsewhere_is_not_gone_on_to(self, tablet, with_pin):
        answer = type_pin(tablet, with_pin, next="https://elsewhere.example/")
        assert answer.url == reverse("machines:at_device")


class TestMyPin:
    @pytest.fixture(autouse=True)
    def _signed_in(self, client, operator):
        client.force_login(operator)

    def test_a_person_sets_and_gives_up_their_own(self, client, operator):
        given = {"pin": PIN, "again": PIN}
        client.post(reverse("shop:my_pin"), given | {"password_now": "wrong"})
        assert operator not in services.people_of(operator.memberships.get().shop)
        client.post(reverse("shop:my_pin"), given | {"password_now": PASSWORD})
        assert operator in services.people_of(operator.memberships.get().shop)
        client.post(reverse("shop:my_pin"), {"forget": "yes"})
        assert operator not in services.people_of(operator.memberships.get().shop)

    @pytest.mark.parametrize(
        ("pin", "again", "said"),
        [
            ("1111", "1111", "tried first"),
            (PIN, "4832", "not the PIN above"),
            ("12", "12", "4 to 8"),
        ],
    )
    def test_a_poor_or_mistyped_one_is_refused(self, client, operator, pin, again, said):
        page = client.post(reverse("shop:my_pin"), {"pin": pin, "again": again})
        assert said in page.text
        assert not hasattr(operator, "pin")


class TestAtTheMachine:
    def test_a_label_leads_to_the_names_and_on_to_what_happened_at_its_machine(
        self, tablet, with_pin, machine
    ):
        asked = tablet.get(label(machine))
        assert asked.url == f"{reverse('shop:device')}?next=%2Fm%2F{machine.code}%2F"
        page = tablet.get(asked.url).text
        pin_page = reverse("shop:device_pin", args=[with_pin.pk])
        assert f'{pin_page}?next=%2Fm%2F{machine.code}%2F"' in page
        answer = type_pin(tablet, with_pin, next=label(machine))
        assert tablet.get(answer.url).url == log_form(machine)
        assert tablet.get(log_form(machine)).status_code == 200

    def test_on_a_browser_that_is_no_device_a_label_asks_for_a_password(self, client, machine):
        assert client.get(label(machine)).url.startswith(reverse("shop:sign_in"))

    def test_what_is_logged_carries_the_person_and_leads_back(self, stay, with_pin, machine):
        answer = stay.post(log_form(machine), HIT, follow=True)
        assert Incident.objects.get().made_by == with_pin
        assert answer.redirect_chain[-1][0] == reverse("machines:at_device")
        assert "Logged." in answer.text
        assert "What you logged just now" in answer.text

    def test_a_tooth_is_logged_and_a_photo_pinned_to_it(self, stay, with_pin, machine):
        belt = machine.belts.first()
        stay.post(reverse("machines:inspect_belt", args=[belt.pk]), {"teeth": "3 damaged"})
        inspection = BeltInspection.objects.get()
        assert inspection.made_by == with_pin
        pin_photo = reverse("machines:pin_photo", args=[inspection.pk])
        assert pin_photo in stay.get(reverse("machines:at_device")).text
        assert stay.get(pin_photo).status_code == 200

    def test_its_first_page_is_for_nobody_elsewhere(self, client, with_pin):
        client.force_login(with_pin)
        assert client.get(reverse("machines:at_device")).status_code == 404

    def test_what_somebody_else_logged_is_not_shown(self, stay, machine, owner):
        Incident.objects.create(
            machine=machine, made_by=owner, happened_at=timezone.now(), note="an owner's words",
            kind="noise", may_run=True,
        )  # fmt: skip
        assert "What you logged just now" not in stay.get(reverse("machines:at_device")).text

    def test_a_queued_entry_of_the_person_is_taken_and_of_another_kept(
        self, stay, with_pin, owner, machine
    ):
        sent = stay.post(log_form(machine), HIT, headers={"X-Entry-Made-By": str(with_pin.pk)})
        assert sent.status_code == 200
        kept = stay.post(log_form(machine), HIT, headers={"X-Entry-Made-By": str(owner.pk)})
        assert kept.status_code == 409
        assert Incident.objects.count() == 1

    def test_after_the_stay_ended_a_queued_entry_waits(self, stay, with_pin, machine):
        stay.post(reverse("shop:device_done"))
        sent = stay.post(log_form(machine), HIT, headers={"X-Entry-Made-By": str(with_pin.pk)})
        assert sent.status_code == 401
        assert not Incident.objects.exists()


class TestEnding:
    def test_one_tap_ends_it_and_leads_to_the_names(self, stay):
        assert stay.post(reverse("shop:device_done")).url == reverse("shop:device")
        assert not signed_in(stay)

    def test_it_ends_by_itself_when_nothing_is_done(self, stay, machine):
        left = Session.objects.get().expire_date - timezone.now()
        assert timedelta(seconds=IDLE_S - 60) < left <= timedelta(seconds=IDLE_S)
        Session.objects.update(expire_date=timezone.now() - timedelta(seconds=1))
        assert stay.get(log_form(machine)).url.startswith(reverse("shop:device"))

    def test_every_page_opened_puts_the_end_off(self, stay, machine):
        Session.objects.update(expire_date=timezone.now() + timedelta(seconds=30))
        stay.get(log_form(machine))
        assert Session.objects.get().expire_date - timezone.now() > timedelta(seconds=60)

    def test_it_ends_with_the_cookie_of_the_device(self, stay, machine):
        del stay.cookies[COOKIE]
        stay.get(log_form(machine))
        assert not signed_in(stay)

    def test_it_ends_when_the_person_leaves_the_shop(self, stay, with_pin, machine):
        with_pin.memberships.update(ended_at=timezone.now())
        assert stay.get(log_form(machine)).status_code == 302
        assert not signed_in(stay)

    def test_a_full_sign_in_on_another_browser_is_not_held_to_anything(
        self, client, stay, with_pin
    ):
        client.force_login(with_pin)
        assert client.get(reverse("shop:visits")).status_code == 200


def every_page():
    """(namespace:name, the names in its address) of every page of the site's own."""
    for space in ("shop", "machines", "alignment"):
        for name, ways in get_resolver().namespace_dict[space][1].reverse_dict.lists():
            if isinstance(name, str):
                yield f"{space}:{name}", ways[0][0][0][1]


OPEN_ANYWAY = {
    "machines:at_device",
    "machines:at_machine",
    "alignment:log_incident",
    "alignment:drawn_machine",
    "machines:inspect_belt",
    "machines:pin_photo",
    "shop:device",
    "shop:device_pin",
    "shop:device_done",
    "shop:device_set_up",
    "shop:waiting",
    "shop:manifest",
    "shop:service_worker",
}


class TestHeldToLogging:
    def test_no_other_page_opens_and_nothing_is_sent_to_one(self, stay):
        texts = {"code": "abcdef", "secret": "secret", "kind": "bearing"}
        let_in = []
        for page, parts in every_page():
            if page in OPEN_ANYWAY:
                continue
            address = reverse(page, kwargs={part: texts.get(part, 1) for part in parts})
            opened, sent = stay.get(address), stay.post(address)
            led_back = opened.status_code == 302 and opened.url == reverse("machines:at_device")
            if not led_back or sent.status_code != 404:
                let_in.append((page, opened.status_code, sent.status_code))
        assert let_in == []

    @pytest.mark.parametrize("address", ["/admin/", "/admin/shop/user/", "/nowhere/"])
    def test_neither_the_admin_site_nor_what_does_not_exist(self, stay, address):
        assert stay.get(address).status_code in (302, 404)
        assert stay.post(address).status_code == 404

    def test_the_list_of_what_opens_is_the_one_tried_here(self, settings):
        named = [one for names in settings.SHARED_DEVICE_PAGES.values() for one in names]
        assert sorted(named) == sorted(OPEN_ANYWAY)

    def test_a_machine_of_the_person_s_other_shop_does_not_open(self, stay, with_pin):
        elsewhere = ShopFactory(name="Birch Works")
        MembershipFactory(user=with_pin, shop=elsewhere, role=Role.OWNER)
        other = five_station_machine(elsewhere, number="B1")
        belt = other.belts.first()
        for address in (
            label(other),
            log_form(other),
            reverse("machines:inspect_belt", args=[belt.pk]),
            reverse("alignment:drawn_machine", args=[other.pk]),
        ):
            assert stay.get(address).url == reverse("machines:at_device")
            assert stay.post(address, HIT).status_code == 404
        assert not Incident.objects.exists()

    def test_only_the_shop_s_machines_are_listed(self, stay, with_pin, machine):
        elsewhere = ShopFactory(name="Birch Works")
        MembershipFactory(user=with_pin, shop=elsewhere, role=Role.OWNER)
        theirs = five_station_machine(elsewhere, number="their only machine")
        page = stay.get(reverse("machines:at_device")).text
        assert log_form(machine) in page
        assert log_form(theirs) not in page
        assert theirs.number not in page

    def test_the_head_has_no_way_in_but_out(self, stay):
        page = stay.get(reverse("machines:at_device")).text
        assert "I am done" in page
        assert reverse("shop:visits") not in page
        assert reverse("shop:my_settings") not in page


@pytest.mark.parametrize("count", [3, 30])
def test_the_names_and_the_machines_cost_the_same_however_many(
    stay, shop, count, django_assert_max_num_queries
):
    for number in range(count):
        person = UserFactory()
        MembershipFactory(user=person, shop=shop)
        services.set_pin(person, PIN)
        five_station_machine(shop, number=f"N{number}")
    with django_assert_max_num_queries(14):
        stay.get(reverse("machines:at_device"))
    with django_assert_max_num_queries(10):
        stay.get(reverse("shop:device"))
