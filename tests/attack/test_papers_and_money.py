"""A paper exchanged on the disk, a firm's payment text changed, mail to many: seen and said."""

from datetime import timedelta

import pytest
from django.core.files.storage import default_storage
from django.urls import reverse

from shop.outbox.models import OutgoingMail
from shop.people.models import User
from shop.visits import clock as visit_clock
from shop.visits.services import arrive, lacks, note_come_back, sign_and_issue
from shop.web.errors import Refused
from tests.factories import FirmMembershipFactory, UserFactory
from tests.post import posted

pytestmark = pytest.mark.django_db
PARTIES = {"contractor": ("Ned Oake", "contractor"), "customer": ("Ada Alder", "owner")}


@pytest.fixture
def keeper(db):
    return UserFactory(username="keeper", email="keeper@site.example", is_staff=True)


@pytest.fixture
def report(at_visit, nothing_missing):
    arrive(at_visit)
    at_visit.refresh_from_db()
    return sign_and_issue(at_visit, **PARTIES)


@pytest.fixture
def exchanged(report):
    """The report, another file in its place on the disk."""
    with default_storage.open(report.file.name, "wb") as file:
        file.write(b"%PDF-1.4 of another visit")
    return report


class TestAPaperThatWasExchanged:
    def test_it_is_not_given_out_and_its_page_says_so(self, client, owner, exchanged):
        client.force_login(owner)
        for page in (
            exchanged.get_absolute_url(),
            reverse("shop:report", args=[exchanged.visit_id]),
        ):
            answer = client.get(page)
            assert answer.status_code == 422
            assert b"not the one that was issued" in answer.content
            assert b"%PDF" not in answer.content

    def test_the_keeper_is_mailed_once(self, client, owner, exchanged, keeper):
        client.force_login(owner)
        for _ in range(3):
            client.get(exchanged.get_absolute_url())
        (letter,) = posted()
        assert letter.to == [keeper.email]
        assert exchanged.file.name in letter.body

    def test_it_is_not_mailed(self, client, contractor, exchanged):
        client.force_login(contractor)
        given = {"other": "boss@shop.example"}
        page = client.post(reverse("shop:send", args=[exchanged.pk]), given)
        assert "not the one that was issued, so it is not sent" in page.content.decode()
        assert posted() == []

    def test_one_that_is_gone_is_said_and_not_mailed(self, client, contractor, report, keeper):
        default_storage.delete(report.file.name)
        client.force_login(contractor)
        page = client.post(reverse("shop:send", args=[report.pk]), {"other": "boss@shop.example"})
        assert page.status_code == 200
        assert "The file of this document is gone" in page.content.decode()
        assert [letter.to for letter in posted()] == [[keeper.email]]

    def test_the_right_one_is_given_out(self, client, owner, report):
        client.force_login(owner)
        answer = client.get(report.get_absolute_url())
        assert b"".join(answer.streaming_content).startswith(b"%PDF")


def test_mail_to_addresses_outside_the_shop_is_limited(client, contractor, report, monkeypatch):
    from shop.paper import views

    monkeypatch.setattr(views, "MOST_OUTSIDE_A_DAY", 2)
    client.force_login(contractor)
    send = reverse("shop:send", args=[report.pk])
    for number in range(3):
        page = client.post(send, {"other": f"{number}@elsewhere.example"})
    assert "2 mails went to other addresses within a day" in page.content.decode()
    assert OutgoingMail.objects.count() == 2


def test_mail_to_the_shop_s_own_people_is_not(client, contractor, owner, report, monkeypatch):
    from shop.paper import views

    monkeypatch.setattr(views, "MOST_OUTSIDE_A_DAY", 0)
    User.objects.filter(pk=owner.pk).update(email="owner@shop.example")
    client.force_login(contractor)
    client.post(reverse("shop:send", args=[report.pk]), {"other": "Owner@shop.example"})
    assert OutgoingMail.objects.count() == 1


class TestWhereMoneyGoes:
    @pytest.fixture
    def lead(self, firm):
        person = FirmMembershipFactory(firm=firm, is_admin=True).user
        User.objects.filter(pk=person.pk).update(email="lead@firm.example")
        return person

    @pytest.fixture
    def other_lead(self, firm):
        person = FirmMembershipFactory(firm=firm, is_admin=True).user
        User.objects.filter(pk=person.pk).update(email="other@firm.example")
        return person

    TERMS = {
        "currency": "EUR",
        "payment_days": "30",
        "payment_note": "To the account 12-34",
        "parts_markup_percent": "0",
        "normal_day_h": "8",
    }

    def test_only_those_who_run_the_firm_change_it(self, client, firm, contractor, lead):
        FirmMembershipFactory(firm=firm, user=contractor, is_admin=False)
        client.force_login(contractor)
        for part in ("letterhead", "terms", "texts"):
            page = reverse("shop:firm_form", args=[firm.pk, part])
            assert client.post(page, self.TERMS).status_code == 403
        firm.refresh_from_db()
        assert firm.payment_note == ""

    def test_all_who_run_it_are_mailed(self, client, firm, lead, other_lead):
        client.force_login(lead)
        page = reverse("shop:firm_form", args=[firm.pk, "terms"])
        assert client.post(page, self.TERMS).status_code == 302
        letters = posted()
        assert sorted(letter.to[0] for letter in letters) == [
            "lead@firm.example",
            "other@firm.example",
        ]
        assert "To the account 12-34" in letters[0].body

    def test_nobody_is_mailed_of_anything_else(self, client, firm, lead):
        client.force_login(lead)
        page = reverse("shop:firm_form", args=[firm.pk, "terms"])
        client.post(page, self.TERMS | {"payment_note": firm.payment_note, "payment_days": "14"})
        assert posted() == []


class TestARunningClock:
    @pytest.fixture
    def running(self, at_visit, contractor, settings):
        settings.BEFORE_SIGNING = ["shop.visits.signing_blockers.clocks_still_running"]
        visit_clock.start_clock(visit=at_visit, who=contractor, kind="work", made_by=contractor)
        at_visit.refresh_from_db()
        return at_visit

    def test_no_note_lets_it_be_signed_over(self, running):
        note_come_back(running, "the clock does not matter")
        with pytest.raises(Refused, match="Settle it first"):
            sign_and_issue(running, **PARTIES, come_back_for="never mind")

    def test_stopped_it_is_signed(self, running, contractor, clock):
        clock.shift(timedelta(minutes=5))
        visit_clock.stop_clock(running.spells.get())
        running.refresh_from_db()
        assert lacks(running) == []
        assert sign_and_issue(running, **PARTIES).visit.is_signed
