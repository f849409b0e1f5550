"""What is promised at a visit is kept until it is done or dropped with a reason."""

from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from shop.calendar.entries import entries
from shop.visits.come_back import settle_come_back
from shop.visits.models import ComeBackStep, Visit
from shop.web.errors import Refused
from tests import factories


@pytest.fixture
def left(shop, firm, contractor, clock):
    """A signed visit that left something undone."""
    visit = factories.VisitFactory(
        shop=shop, firm=firm, contractor=contractor, come_back_for="The collet is on order."
    )
    Visit.objects.filter(pk=visit.pk).update(state="signed", signed_at=visit.made_at)
    visit.refresh_from_db()
    return visit


def open_ones():
    return list(Visit.objects.to_come_back_to())


def test_it_is_open_until_it_is_done(left, contractor):
    assert open_ones() == [left]
    settle_come_back(left, "done", made_by=contractor)
    assert open_ones() == []


def test_it_is_dropped_with_a_reason_only(left, contractor):
    with pytest.raises(Refused, match="why"):
        settle_come_back(left, "dropped", made_by=contractor, why="  ")
    settle_come_back(left, "dropped", made_by=contractor, why="The machine was sold.")
    assert open_ones() == []


def test_what_has_ended_takes_no_further_step(left, contractor):
    settle_come_back(left, "done", made_by=contractor)
    with pytest.raises(Refused, match="done already"):
        settle_come_back(left, "day", day=left.shop.today, made_by=contractor)


def test_the_last_day_given_counts(left, contractor, shop):
    for days in (3, 9):
        on = shop.today + timedelta(days=days)
        settle_come_back(left, "day", day=on, made_by=contractor)
    assert open_ones()[0].back_on == shop.today + timedelta(days=9)


@pytest.mark.parametrize("days", [None, -1])
def test_a_day_missing_or_gone_by_is_refused(left, contractor, shop, days):
    day = None if days is None else shop.today + timedelta(days=days)
    with pytest.raises(Refused, match="today or later"):
        settle_come_back(left, "day", day=day, made_by=contractor)


def test_nothing_can_be_promised_of_a_visit_that_left_nothing(visit, contractor):
    with pytest.raises(Refused, match="Nothing was left"):
        settle_come_back(visit, "done", made_by=contractor)


def test_sent_twice_it_is_one_step(left, contractor, shop):
    entry = "0b5f4b1e-6f0c-4f8e-9b1f-2f6a3a1b9a10"
    for _ in range(2):
        settle_come_back(left, "day", day=shop.today, made_by=contractor, entry_id=entry)
    assert left.come_back_steps.count() == 1


def test_the_database_holds_that_it_ends_once(left, contractor):
    ComeBackStep.objects.create(visit=left, state="done", made_by=contractor)
    with pytest.raises(IntegrityError), transaction.atomic():
        ComeBackStep.objects.create(visit=left, state="dropped", why="x", made_by=contractor)


class TestCalendar:
    def entry(self, person, shop):
        found = entries(person, shop.today, shop.today + timedelta(days=30))
        return [one for one in found if one.kind == "promised"]

    def test_it_stands_there_on_its_day_for_both_sides(self, left, contractor, owner, shop):
        on = shop.today + timedelta(days=5)
        settle_come_back(left, "day", day=on, made_by=contractor)
        for person in (contractor, owner):
            (entry,) = self.entry(person, shop)
            assert (entry.first, entry.last) == (on, on)

    def test_moved_it_keeps_its_uid_and_counts_on(self, left, contractor, shop):
        """RFC 5545, 3.8.7.4: the sequence number grows when the entry is revised, the UID stays."""
        told = []
        for days in (5, 8):
            on = shop.today + timedelta(days=days)
            settle_come_back(left, "day", day=on, made_by=contractor)
            told += self.entry(contractor, shop)
        assert told[0].uid == told[1].uid
        assert [one.sequence for one in told] == [0, 1]

    def test_without_a_day_or_done_it_does_not(self, left, contractor, shop):
        assert self.entry(contractor, shop) == []
        settle_come_back(left, "day", day=shop.today, made_by=contractor)
        settle_come_back(left, "done", made_by=contractor)
        assert self.entry(contractor, shop) == []

    def test_a_stranger_sees_nothing_of_it(self, left, contractor, stranger, shop):
        settle_come_back(left, "day", day=shop.today, made_by=contractor)
        assert self.entry(stranger, shop) == []


class TestPages:
    def settle(self, client, person, visit, **given):
        client.force_login(person)
        return client.post(reverse("shop:settle_come_back", args=[visit.pk]), given)

    def test_the_next_visit_s_plan_tells_it_and_leads_to_settling(
        self, client, left, visit, contractor
    ):
        client.force_login(contractor)
        page = client.get(visit.get_absolute_url()).content.decode()
        assert "The collet is on order." in page
        assert reverse("shop:settle_come_back", args=[left.pk]) in page
        settle_come_back(left, "done", made_by=contractor)
        assert (
            "The collet is on order." not in client.get(visit.get_absolute_url()).content.decode()
        )

    def test_the_visit_that_left_it_goes_on_telling_how_it_ended(
        self, client, left, owner, contractor
    ):
        settle_come_back(left, "dropped", why="Sold.", made_by=contractor)
        client.force_login(owner)
        page = client.get(left.get_absolute_url()).content.decode()
        assert "Dropped" in page
        assert "Sold." in page

    def test_the_owner_sees_it_on_the_first_page(self, client, left, owner):
        client.force_login(owner)
        page = client.get(reverse("shop:home")).content.decode()
        assert "Promised to you" in page
        assert "The collet is on order." in page

    def test_a_drop_without_a_reason_comes_back_with_what_was_typed(self, client, left, contractor):
        answer = self.settle(client, contractor, left, state="dropped", why="")
        assert answer.context["form"].errors["why"] == ["Say why it is dropped: the shop reads it."]
        assert answer.context["form"]["state"].value() == "dropped"

    def test_a_day_is_kept_as_it_is_written_down(self, client, visit, contractor, shop):
        client.force_login(contractor)
        on = shop.today + timedelta(days=7)
        given = {"come_back_for": "shims", "back_on": on}
        client.post(reverse("shop:come_back", args=[visit.pk]), given)
        assert visit.come_back_steps.get().day == on

    def test_settled_on_the_page_it_is_gone_from_the_list(self, client, left, contractor):
        self.settle(client, contractor, left, state="done")
        assert open_ones() == []
