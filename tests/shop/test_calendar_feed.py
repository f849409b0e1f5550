"""The private calendar file against RFC 5545, by an independent parse and by its octets.

Rules as held in the project's list of checked facts: VERSION and PRODID once (3.6), UID and
DTSTAMP once in each event (3.6.1), lines of at most 75 octets ending in CRLF (3.1), the end of an
all-day event is the day after its last (3.6.1), moments in UTC without a time zone name (3.3.5).
"""

from datetime import UTC, datetime, time, timedelta

import pytest
from dateutil.relativedelta import relativedelta
from django.urls import reverse
from django.utils import timezone
from icalendar import Calendar

from machines.planning.plans import make_plan, mark_done
from shop.calendar import feed, services
from shop.calendar.times import Slot
from tests import factories


def day(ahead):
    return factories.today() + timedelta(days=ahead)


def a_visit(shop, firm, contractor, slot, purpose="planned checks"):
    return services.plan_visit(
        shop=shop, firm=firm, contractor=contractor, purpose=purpose, slot=slot, made_by=contractor
    )


@pytest.fixture
def visit(shop, firm, contractor):
    return a_visit(shop, firm, contractor, Slot(day(10), time(8), time(12)))


def raw(user):
    return feed.calendar_of(user, base="https://shop.example/")


def events(user):
    return list(Calendar.from_ical(raw(user)).walk("VEVENT"))


def unfolded(content):
    """The lines of a file, as 3.1 says to join them again."""
    return content.replace(b"\r\n ", b"").decode().split("\r\n")


def test_the_file_names_its_version_and_maker_once(contractor, visit):
    lines = unfolded(raw(contractor))
    assert lines[0] == "BEGIN:VCALENDAR"
    assert lines.count("VERSION:2.0") == 1
    assert sum(line.startswith("PRODID:") for line in lines) == 1


def test_every_event_has_its_uid_and_stamp_once(contractor, visit, shop, machine, owner):
    make_plan(
        shop=shop, machine=machine, made_by=owner, what="oil", kind="lubrication", months=1,
        starts_on=day(0),
    )  # fmt: skip
    text = "\n".join(unfolded(raw(contractor)))
    for event in text.split("BEGIN:VEVENT")[1:]:
        for name in ("UID:", "DTSTAMP:", "DTSTART"):
            assert sum(line.startswith(name) for line in event.splitlines()) == 1


def test_no_line_is_over_75_octets_and_letters_are_not_split(contractor, shop, firm):
    a_visit(shop, firm, contractor, Slot(day(3)), purpose="Überprüfung " * 12)
    content = raw(contractor)
    for line in content.split(b"\r\n"):
        assert len(line) <= 75
        line.decode()  # a letter split over two lines would not decode


def test_lines_end_in_crlf_only(contractor, visit):
    content = raw(contractor)
    assert content.endswith(b"\r\n")
    assert b"\n" not in content.replace(b"\r\n", b"")


def test_commas_semicolons_and_new_lines_are_escaped_and_come_back(contractor, shop, firm):
    purpose = "belts; bearings, back\\slash"
    a_visit(shop, firm, contractor, Slot(day(3)), purpose=purpose)
    assert b"belts\\; bearings\\, back\\\\slash" in b"".join(raw(contractor).split(b"\r\n "))
    (event,) = events(contractor)
    assert str(event["description"]).startswith(purpose)


def test_a_timed_visit_stands_in_utc(contractor, shop, firm):
    """8:00 in Zurich on 5 July is 6:00 UTC: two hours ahead in summer."""
    shop.closed_weekdays = ""
    shop.save()
    on = day(0) + relativedelta(month=7, day=5)
    on += relativedelta(years=on < day(0))
    a_visit(shop, firm, contractor, Slot(on, time(8), time(12)))
    (event,) = events(contractor)
    assert event["dtstart"].dt == datetime(on.year, 7, 5, 6, tzinfo=UTC)
    assert event["dtend"].dt == datetime(on.year, 7, 5, 10, tzinfo=UTC)
    assert f"DTSTART:{on.year}0705T060000Z" in unfolded(raw(contractor))


def test_a_visit_of_a_whole_day_ends_the_day_after(contractor, shop, firm):
    a_visit(shop, firm, contractor, Slot(day(5)))
    lines = unfolded(raw(contractor))
    assert f"DTSTART;VALUE=DATE:{day(5):%Y%m%d}" in lines
    assert f"DTEND;VALUE=DATE:{day(6):%Y%m%d}" in lines


def test_a_moved_visit_keeps_its_uid_and_counts_its_changes(contractor, visit):
    (before,) = events(contractor)
    services.move_visit(visit, slot=Slot(day(12)), reason="van in repair")
    (after,) = events(contractor)
    assert after["uid"] == before["uid"]
    assert (int(before["sequence"]), int(after["sequence"])) == (0, 1)
    assert after["dtstart"].dt == day(12)


def test_a_visit_called_off_is_marked_cancelled(contractor, visit):
    services.call_off(visit, reason="shop flooded")
    (event,) = events(contractor)
    assert str(event["status"]) == "CANCELLED"
    assert "shop flooded" in event["description"]


def test_due_work_keeps_its_uid_while_its_day_moves(owner, shop, machine):
    plan = make_plan(
        shop=shop, machine=machine, made_by=owner, what="oil", kind="lubrication", months=9,
        starts_on=day(0),
    )  # fmt: skip
    (before,) = events(owner)
    plan.months = 10
    plan.save()
    (after,) = events(owner)
    assert after["uid"] == before["uid"]
    assert after["dtstart"].dt > before["dtstart"].dt


def test_work_done_makes_room_for_the_next(owner, shop, machine):
    plan = make_plan(
        shop=shop, machine=machine, made_by=owner, what="oil", kind="lubrication", months=9,
        starts_on=day(-30),
    )  # fmt: skip
    uids = {str(event["uid"]) for event in events(owner)}
    mark_done(plan, machine, made_by=owner)
    assert uids.isdisjoint(str(event["uid"]) for event in events(owner))


def test_an_unchanged_file_is_the_same_to_the_byte(contractor, visit):
    assert raw(contractor) == raw(contractor)


def test_the_file_holds_only_what_the_person_may_see(stranger, visit):
    assert events(stranger) == []


def address(client, user):
    client.force_login(user)
    page = client.post(reverse("shop:feed_address"), {"make": "yes"})
    client.logout()
    return page.context["address"]


def test_the_address_works_without_signing_in(client, contractor, visit):
    response = client.get(address(client, contractor))
    assert response.status_code == 200
    assert response["Content-Type"] == "text/calendar; charset=utf-8"
    assert len(list(Calendar.from_ical(response.content).walk("VEVENT"))) == 1


def test_a_guessed_address_is_not_found(client, db):
    assert client.get(reverse("shop:feed", args=["a" * 43])).status_code == 404


def test_a_revoked_address_is_not_found(client, contractor):
    url = address(client, contractor)
    client.force_login(contractor)
    client.post(reverse("shop:feed_address"), {"revoke": "yes"})
    assert client.get(url).status_code == 404


def test_a_new_address_puts_the_old_one_out_of_use(client, contractor):
    old = address(client, contractor)
    new = address(client, contractor)
    assert (client.get(old).status_code, client.get(new).status_code) == (404, 200)


def test_who_has_left_the_site_has_no_calendar(client, contractor):
    url = address(client, contractor)
    contractor.is_active = False
    contractor.save()
    assert client.get(url).status_code == 404


def test_who_has_left_the_shop_no_longer_sees_its_visits(client, contractor, visit):
    url = address(client, contractor)
    contractor.memberships.update(ended_at=timezone.now())
    assert b"VEVENT" not in client.get(url).content


def test_the_secret_itself_is_not_kept(client, contractor):
    url = address(client, contractor)
    kept = contractor.feed_address.secret_sha256
    assert kept not in url
    assert len(kept) == 64


@pytest.mark.parametrize("count", [2, 15])
def test_the_file_costs_the_same_however_many_visits(
    contractor, shop, firm, count, django_assert_max_num_queries
):
    for number in range(count):
        factories.VisitFactory(shop=shop, firm=firm, contractor=contractor, planned_for=day(number))
    with django_assert_max_num_queries(12):
        assert len(events(contractor)) == count
