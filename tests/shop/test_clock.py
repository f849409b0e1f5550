"""The clock of a visit: started at the gate, corrected later, and what it makes of the visit."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from shop.visits.clock import correct_spell, enter_spell, remove_spell, start_clock, stop_clock
from shop.visits.models import Visit, WorkSpell
from shop.visits.services import sign_visit
from shop.visits.signing_blockers import clocks_still_running
from shop.visits.worktime import work_time
from shop.web.errors import Refused
from tests.factories import FirmFactory, MembershipFactory, UserFactory, VisitFactory, at
from tests.pages import posted as post

QUERIES_OF_TIMES = 8
NAMES = {"contractor": ("A", "service"), "customer": ("B", "owner")}


def clocked(visit, began, ended, kind="work", **more):
    person = more.pop("who", visit.contractor)
    return enter_spell(
        visit=visit,
        who=person,
        kind=kind,
        made_by=person,
        began_at=began,
        ended_at=ended,
        **more,
    )


def test_starting_work_puts_the_visit_on_site(visit, contractor):
    start_clock(visit=visit, who=contractor, kind="work", made_by=contractor, at=at(10, 8))
    visit.refresh_from_db()
    assert (visit.state, visit.arrived_at) == (Visit.State.ON_SITE, at(10, 8))


def test_starting_to_travel_leaves_the_visit_planned(visit, contractor):
    start_clock(visit=visit, who=contractor, kind="travel", made_by=contractor, at=at(10, 7))
    visit.refresh_from_db()
    assert (visit.state, visit.arrived_at) == (Visit.State.PLANNED, None)


def test_starting_work_stops_the_travel_clock_at_the_same_moment(visit, contractor):
    travel = start_clock(
        visit=visit, who=contractor, kind="travel", made_by=contractor, at=at(10, 7)
    )
    start_clock(visit=visit, who=contractor, kind="work", made_by=contractor, at=at(10, 8))
    travel.refresh_from_db()
    assert travel.ended_at == at(10, 8)


def test_leaving_is_when_the_last_clock_stopped(visit, contractor):
    clocked(visit, at(10, 8), at(10, 12))
    clocked(visit, at(10, 13), at(10, 16))
    visit.refresh_from_db()
    assert (visit.arrived_at, visit.left_at) == (at(10, 8), at(10, 16))


def test_nobody_has_left_while_a_clock_runs(visit, contractor):
    clocked(visit, at(10, 8), at(10, 12))
    start_clock(visit=visit, who=contractor, kind="work", made_by=contractor, at=at(10, 13))
    visit.refresh_from_db()
    assert visit.left_at is None


def test_correcting_a_time_moves_arrival_and_leaving(visit):
    spell = clocked(visit, at(10, 8), at(10, 12))
    correct_spell(spell, began_at=at(10, 7, 30), ended_at=at(10, 11))
    visit.refresh_from_db()
    assert (visit.arrived_at, visit.left_at) == (at(10, 7, 30), at(10, 11))


def test_a_time_entered_by_mistake_is_removed(visit):
    clocked(visit, at(10, 8), at(10, 12))
    remove_spell(clocked(visit, at(11, 8), at(11, 12)))
    visit.refresh_from_db()
    assert visit.left_at == at(10, 12)


@pytest.mark.parametrize(
    ("began", "ended", "said"),
    [
        (at(10, 12), at(10, 8), "cannot end before it began"),
        (at(10, 8), at(12, 8), "more than 24 hours"),
    ],
    ids=["leaving before arriving", "two days in one go"],
)
def test_times_that_make_no_sense_are_refused(visit, began, ended, said):
    with pytest.raises(Refused, match=said):
        clocked(visit, began, ended)


def test_times_to_come_are_refused(visit):
    now = timezone.now()
    with pytest.raises(Refused, match="in the future"):
        clocked(visit, now - timedelta(hours=1), now + timedelta(minutes=5))


def test_a_clock_stopped_by_a_phone_a_minute_ahead_stopped_now(visit):
    now = timezone.now()
    spell = clocked(visit, now - timedelta(hours=1), now + timedelta(minutes=1))
    assert spell.ended_at <= timezone.now()


@pytest.mark.parametrize(
    ("kind", "distance", "said"),
    [("work", Decimal(12), "Only travel"), ("travel", Decimal(-1), "not negative")],
)
def test_distances_that_make_no_sense_are_refused(visit, kind, distance, said):
    with pytest.raises(Refused, match=said):
        clocked(visit, at(10, 8), at(10, 9), kind, distance=distance)


def test_nobody_works_twice_at_the_same_time(visit):
    clocked(visit, at(10, 8), at(10, 12))
    with pytest.raises(Refused, match="covers that time"):
        clocked(visit, at(10, 11), at(10, 13))


def test_a_refusal_names_the_other_visit_and_what_of_the_time_is_left(visit, shop, firm):
    other = VisitFactory(shop=shop, firm=firm, contractor=visit.contractor)
    clocked(other, at(10, 9), at(10, 10))
    with pytest.raises(Refused, match=rf"clock of visit {other.number} covers") as refused:
        clocked(visit, at(10, 8), at(10, 12))
    left = str(refused.value).split("Enter it ")[1]
    assert left.count("until") == left.count("from") == 1


def test_time_that_another_covers_whole_leaves_nothing_to_enter(visit):
    clocked(visit, at(10, 8), at(10, 12))
    with pytest.raises(Refused) as refused:
        clocked(visit, at(10, 9), at(10, 10))
    assert "Enter it" not in str(refused.value)


def test_another_firm_s_visit_is_not_named(visit, shop):
    other = VisitFactory(shop=shop, firm=FirmFactory(), contractor=visit.contractor)
    clocked(other, at(10, 9), at(10, 10))
    with pytest.raises(Refused, match="clock of another visit"):
        clocked(visit, at(10, 8), at(10, 12))


def test_one_stretch_may_begin_as_another_ends(visit):
    clocked(visit, at(10, 8), at(10, 12), "travel")
    clocked(visit, at(10, 12), at(10, 13))
    assert visit.spells.count() == 2


def test_a_form_sent_twice_enters_one_time(visit):
    entry_id = "5c0c7e0e-7a2f-4b0a-9b52-0d5b2a6f3a10"
    first = clocked(visit, at(10, 8), at(10, 12), entry_id=entry_id)
    assert clocked(visit, at(10, 8), at(10, 12), entry_id=entry_id) == first


def test_hours_of_two_people_are_added_and_both_named(visit, shop, firm):
    helper = UserFactory(first_name="Kim", last_name="Helper")
    MembershipFactory(user=helper, shop=shop, role="contractor", firm=firm)
    clocked(visit, at(10, 8), at(10, 12))
    clocked(visit, at(10, 8), at(10, 11), who=helper)
    time = work_time(visit)
    assert time.work_h == Decimal(7)
    assert "Kim Helper" in time.people


def test_without_a_clock_the_contractor_worked_from_arriving_to_leaving(visit):
    Visit.objects.filter(pk=visit.pk).update(
        state="on site", arrived_at=at(10, 8), left_at=at(10, 10, 30)
    )
    visit.refresh_from_db()
    assert work_time(visit).work.normal == Decimal("2.5")


def test_a_visit_with_a_running_clock_is_not_ready_to_be_signed(visit, contractor):
    start_clock(visit=visit, who=contractor, kind="work", made_by=contractor)
    (lack,) = clocks_still_running(visit)
    assert "still running" in lack.sentence


def test_the_clock_of_a_signed_visit_is_not_touched(visit, settings):
    settings.BEFORE_SIGNING = []
    spell = clocked(visit, at(10, 8), at(10, 12))
    sign_visit(visit, **NAMES)
    with pytest.raises(Refused, match="was signed"):
        correct_spell(spell, began_at=at(10, 7))


def test_a_stopped_clock_is_not_stopped_again(visit):
    spell = clocked(visit, at(10, 8), at(10, 12))
    with pytest.raises(Refused, match="stopped already"):
        stop_clock(spell)


def test_the_button_starts_and_stops_the_person_s_own_clock(client, visit, contractor):
    post(client, contractor, "clock", visit.pk, {"turn": "work"})
    assert visit.spells.get().who == contractor
    post(client, contractor, "clock", visit.pk, {"turn": "stop"})
    assert visit.spells.get().ended_at is not None


@pytest.mark.parametrize("role", ["owner", "operator"])
@pytest.mark.parametrize("name", ["clock", "times"])
def test_only_the_contractor_keeps_time(client, request, visit, role, name):
    assert post(client, request.getfixturevalue(role), name, visit.pk, {}).status_code == 403


@pytest.mark.parametrize("name", ["clock", "times"])
def test_the_time_of_another_shop_s_visit_does_not_exist(client, visit, stranger, name):
    assert post(client, stranger, name, visit.pk, {}).status_code == 404


def test_a_time_is_typed_in_the_shop_s_zone(client, visit, contractor):
    given = {
        "who": contractor.pk,
        "kind": "work",
        "began_at": "2025-03-10T08:00",
        "ended_at": "2025-03-10T12:00",
    }
    post(client, contractor, "times", visit.pk, given)
    assert visit.spells.get().began_at == at(10, 7)


def test_leaving_before_arriving_is_said_at_the_field_and_stays_typed(client, visit, contractor):
    given = {
        "who": contractor.pk,
        "kind": "work",
        "began_at": "2025-03-10T12:00",
        "ended_at": "2025-03-10T08:00",
    }
    page = post(client, contractor, "times", visit.pk, given).content.decode()
    assert "cannot end before it began" in page
    assert "2025-03-10T08:00" in page
    assert not WorkSpell.objects.exists()


@pytest.mark.parametrize("days", [1, 6])
def test_the_page_of_times_costs_the_same_however_many_there_are(
    client, visit, contractor, days, django_assert_num_queries
):
    for day in range(10, 10 + days):
        clocked(visit, at(day, 8), at(day, 12))
    client.force_login(contractor)
    with django_assert_num_queries(QUERIES_OF_TIMES):
        client.get(reverse("shop:times", args=[visit.pk]))
