"""The calendar page, closed days, and moving or calling off a visit."""

from datetime import date, time, timedelta

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from shop.calendar import services
from shop.calendar.entries import entries
from shop.calendar.models import ClosedDays
from shop.calendar.month import Month
from shop.calendar.times import Slot, overlap
from shop.visits.models import Visit
from shop.visits.services import for_work
from shop.web.errors import Refused
from tests import factories

FAR = 30


def day(ahead=FAR):
    found = factories.today() + timedelta(days=ahead)
    return found + timedelta(days=(7 - found.weekday()) % 7)  # a Monday


def plan(visit_shop, firm, contractor, slot):
    return services.plan_visit(
        shop=visit_shop,
        firm=firm,
        contractor=contractor,
        purpose="planned checks",
        slot=slot,
        made_by=contractor,
    )


@pytest.fixture
def visit(shop, firm, contractor):
    return plan(shop, firm, contractor, Slot(day(), time(8), time(12)))


def month_page(client, user, **query):
    client.force_login(user)
    return client.get(reverse("shop:calendar"), {"month": f"{day():%Y-%m}"} | query)


@pytest.mark.parametrize("view", ["sheet", "list"])
def test_both_sides_see_the_visit_in_one_calendar(client, owner, contractor, visit, view):
    for user in (owner, contractor):
        page = month_page(client, user, view=view).content.decode()
        assert visit.number in page
        assert "08:00 to 12:00" in page


def test_a_stranger_sees_nothing_of_it(client, stranger, visit):
    assert visit.number not in month_page(client, stranger).content.decode()


@pytest.mark.parametrize("month", ["2026-13", "soon", "0000-01", "99999-01", "2026-02-30"])
def test_a_month_that_is_none_shows_the_present_one(client, owner, month):
    page = month_page(client, owner, month=month).content.decode()
    assert f"{factories.today():%B %Y}" in page


def test_a_month_is_laid_out_in_weeks_from_monday():
    """February 2026 began on a Sunday: it takes five weeks, the first from 26 January."""
    weeks = Month(date(2026, 2, 1)).weeks
    assert (weeks[0][0], weeks[-1][-1], len(weeks)) == (date(2026, 1, 26), date(2026, 3, 1), 5)


def test_weeks_start_on_a_sunday_where_the_shop_says_so(client, owner, shop):
    weeks = Month(date(2026, 2, 1), week_starts_on=7).weeks
    assert (weeks[0][0], weeks[-1][-1], len(weeks)) == (date(2026, 2, 1), date(2026, 2, 28), 4)
    shop.week_starts_on = 7
    shop.save()
    client.force_login(owner)
    page = client.get(reverse("shop:calendar"))
    assert page.context["weeks"][0][0].day.isoweekday() == 7


def test_the_last_day_of_february_knows_leap_years():
    assert Month(date(2028, 2, 1)).last == date(2028, 2, 29)
    assert Month(date(2026, 2, 1)).last == date(2026, 2, 28)


def clashing(user):
    found = entries(user, day() - timedelta(days=1), day() + timedelta(days=8))
    return {entry.title for entry in found if entry.clashes}


def test_two_visits_at_once_clash(shop, firm, contractor, visit):
    plan(shop, firm, contractor, Slot(day(), time(11), time(14)))
    assert len(clashing(contractor)) == 2


def test_one_after_the_other_does_not_clash(shop, firm, contractor, visit):
    plan(shop, firm, contractor, Slot(day(), time(12), time(14)))
    assert clashing(contractor) == set()


def test_a_whole_day_clashes_with_a_part_of_it(shop, firm, contractor, visit):
    plan(shop, firm, contractor, Slot(day()))
    assert len(clashing(contractor)) == 2


def test_two_contractors_may_come_at_once(shop, firm, contractor, visit):
    colleague = factories.MembershipFactory(shop=shop, role="contractor", firm=firm).user
    plan(shop, firm, colleague, Slot(day(), time(8), time(12)))
    assert clashing(contractor) == set()


def test_a_visit_on_a_closed_day_clashes(shop, owner, visit):
    services.close_days(shop=shop, first=day(), last=day(), why="holiday", made_by=owner)
    assert len(clashing(owner)) == 1


def test_times_of_two_zones_are_compared_as_moments(shop, firm, contractor, visit):
    """8:00 to 12:00 in Zurich is over when 8:00 in Chicago begins, seven hours behind."""
    far = factories.ShopFactory(name="Far", time_zone="America/Chicago")
    factories.MembershipFactory(user=contractor, shop=far, role="contractor", firm=firm)
    plan(far, firm, contractor, Slot(day(), time(8), time(12)))
    assert clashing(contractor) == set()


@pytest.mark.parametrize(
    ("one", "other", "both"),
    [((8, 12), (12, 14), False), ((8, 12), (11, 14), True), ((8, 12), (9, 10), True)],
)
def test_spans_overlap_when_they_share_more_than_an_end(shop, one, other, both):
    spans = [Slot(day(), time(a), time(b)).moments(shop.zone) for a, b in (one, other)]
    assert overlap(*spans) is both


@pytest.mark.parametrize(("start", "end"), [(time(9), time(8)), (time(9), time(9))])
def test_a_visit_does_not_end_before_it_starts(start, end):
    with pytest.raises(ValueError, match="cannot end before it starts"):
        Slot(day(), start, end)


def test_the_database_too_refuses_a_visit_that_ends_before_it_starts(visit):
    with pytest.raises(IntegrityError), transaction.atomic():
        Visit.objects.filter(pk=visit.pk).update(planned_until=time(7))


def test_the_contractor_moves_a_visit_and_says_why(client, contractor, visit):
    client.force_login(contractor)
    url = reverse("shop:move_visit", args=[visit.pk])
    other = day(FAR + 14)
    client.post(url, {"day": other.isoformat(), "reason": "van in repair"})
    visit.refresh_from_db()
    assert (visit.planned_for, visit.planned_from, visit.changed_why) == (
        other,
        None,
        "van in repair",
    )


def test_moving_onto_a_closed_day_warns(client, contractor, owner, shop, visit):
    other = day(FAR + 14)
    services.close_days(shop=shop, first=other, last=other, why="holiday", made_by=owner)
    client.force_login(contractor)
    url = reverse("shop:move_visit", args=[visit.pk])
    page = client.post(url, {"day": other.isoformat(), "reason": "ill"}, follow=True)
    assert "is closed that day: holiday" in page.content.decode()


@pytest.mark.parametrize(
    ("who", "name", "status"),
    [
        ("owner", "move_visit", 403),
        ("operator", "call_off", 403),
        ("owner", "call_off", 200),
        ("contractor", "call_off", 200),
        ("stranger", "call_off", 404),
    ],
)
def test_who_may_change_a_visit_ahead(client, request, visit, who, name, status):
    client.force_login(request.getfixturevalue(who))
    assert client.get(reverse(f"shop:{name}", args=[visit.pk])).status_code == status


def test_a_visit_called_off_is_not_worked_at(visit):
    services.call_off(visit, reason="shop flooded")
    with pytest.raises(Refused, match="shop flooded"):
        for_work(visit)


def test_a_visit_that_has_begun_is_not_called_off(visit):
    for_work(visit)
    with pytest.raises(Refused, match="only a planned one"):
        services.call_off(visit, reason="late")


def test_a_visit_is_not_planned_for_a_day_gone_by(shop, firm, contractor):
    with pytest.raises(Refused, match="has passed"):
        plan(shop, firm, contractor, Slot(date(2020, 1, 6)))


def test_the_owner_keeps_the_closed_days(client, owner, shop):
    client.force_login(owner)
    url = reverse("shop:closed_days", args=[shop.pk])
    client.post(url, {"first": "2027-08-01", "last": "", "why": "national day"})
    closed = ClosedDays.objects.get()
    assert closed.first == closed.last == date(2027, 8, 1)


def test_closed_days_that_end_before_they_begin_are_refused(client, owner, shop):
    client.force_login(owner)
    url = reverse("shop:closed_days", args=[shop.pk])
    page = client.post(url, {"first": "2027-08-02", "last": "2027-08-01", "why": "x"})
    assert "cannot come before the first" in page.content.decode()


def test_the_contractor_reads_the_closed_days_and_no_more(client, contractor, shop):
    client.force_login(contractor)
    url = reverse("shop:closed_days", args=[shop.pk])
    assert client.get(url).status_code == 200
    assert client.post(url, {"first": "2027-08-01", "why": "x"}).status_code == 403
