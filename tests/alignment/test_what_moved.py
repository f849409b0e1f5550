"""After a crash: which stations are likely to have moved, and which sweep tells most."""

from datetime import timedelta

import pytest
from django.urls import reverse

from alignment.adjusting.crash_cases import FEWEST_GAPS, cases_of, minutes_of
from alignment.adjusting.crashes_like import crashes_like
from alignment.adjusting.services import record_adjustment
from alignment.adjusting.what_moved import ENOUGH_CRASHES, what_moved
from alignment.geometry.moved.prior import BESIDE, ELSEWHERE, HIT, Case
from alignment.sweeps.models import Check
from machines.register.models import VisitedMachine
from tests.factories import VisitFactory, five_station_machine, item_of, station_of


@pytest.fixture
def called_for(taken_up, machine):
    """Makes an incident the reason of the visit to the machine."""

    def link(incident):
        VisitedMachine.objects.filter(visit=taken_up, machine=machine).update(incident=incident)
        return incident

    return link


def belief_now(visit, machine):
    found = what_moved(visit, machine)
    return {one.station.kind: one for one in found.stations}, found


def test_what_was_hit_is_likeliest_and_its_sweep_comes_first(called_for, crash, taken_up, machine):
    called_for(crash("sub-spindle", severity="hard"))
    stations, found = belief_now(taken_up, machine)
    chances = {kind: one.chance for kind, one in stations.items()}
    assert max(chances, key=chances.get) == "sub-spindle"
    assert min(chances, key=chances.get) == "headstock"
    assert found.next.station.kind == "sub-spindle"


def test_a_sweep_that_reads_far_off_makes_its_station_all_but_sure(
    called_for, crash, taken_up, machine, sweep_of
):
    called_for(crash("guide bushing", severity="knock"))
    sweep_of(item_of(machine, "guide bushing"), 60.0)
    housing = belief_now(taken_up, machine)[0]["guide bushing"]
    assert housing.chance > 0.9 > housing.before
    assert abs(housing.front_um) == pytest.approx(60, abs=12)


def test_a_light_touch_swept_true_leaves_nothing_to_sweep(
    called_for, crash, taken_up, machine, sweep_of
):
    called_for(crash("gang tools", severity="touch"))
    for kind in ("gang tools", "guide bushing", "sub-spindle"):
        sweep_of(item_of(machine, kind), 0.0)
    found = what_moved(taken_up, machine)
    assert found.next is None
    assert all(one.worth.outside <= 0.05 for one in found.sweeps)


def test_without_a_crash_there_is_no_belief(taken_up, machine, at_work):
    assert what_moved(taken_up, machine) is None
    page = at_work.get(reverse("alignment:what_moved", args=[taken_up.pk, machine.pk])).text
    assert "No crash to go by" in page


def test_the_page_tells_chance_sweep_and_minutes(called_for, crash, taken_up, machine, at_work):
    called_for(crash("guide bushing", severity="hard"))
    page = at_work.get(reverse("alignment:what_moved", args=[taken_up.pk, machine.pk])).text
    assert "likely to have" in page
    assert "minutes it tells most of what moved" in page
    assert "Keep to the usual order" in page


def test_a_firm_without_history_is_offered_the_page_and_keeps_the_usual_order(
    called_for, crash, taken_up, machine, at_work
):
    called_for(crash("guide bushing", severity="hard"))
    page = at_work.get(taken_up.get_absolute_url()).text
    assert reverse("alignment:what_moved", args=[taken_up.pk, machine.pk]) in page
    assert "tells most for its minutes" not in page


@pytest.fixture
def crashes_before(machine, shop, firm, contractor, crash, sweep_of, moved, signed, visit):
    """Signed visits for crashes at which the housing was swept 40 µm off and moved back."""

    def make(count):
        for _ in range(count):
            there = VisitFactory(shop=shop, firm=firm, contractor=contractor)
            hit = crash("guide bushing", severity="knock")
            VisitedMachine.objects.create(visit=there, machine=machine, incident=hit)
            for kind in ("guide bushing", "back tools"):
                off = 40.0 if kind == "guide bushing" else 0.0
                sweep_of(item_of(machine, kind), off, visit=there)
            moved("guide bushing", visit=there)
            signed(there)

    return make


def test_a_firms_own_crashes_tell_what_moved_and_how_far(crashes_before, firm, visit):
    crashes_before(2)
    crashes, cases = cases_of(firm, but=visit)
    assert crashes == 2
    assert cases.count(Case(HIT, "knock", True, pytest.approx(40, abs=0.5))) == 2
    assert {case.place for case in cases} <= {HIT, BESIDE, ELSEWHERE}
    assert not any(case.moved for case in cases if case.place != HIT)


def test_with_enough_of_them_the_plan_proposes_a_sweep_with_the_way_back(
    crashes_before, called_for, crash, taken_up, machine, at_work
):
    crashes_before(ENOUGH_CRASHES)
    called_for(crash("sub-spindle", severity="hard"))
    page = at_work.get(taken_up.get_absolute_url()).text
    assert "tells most for its minutes" in page
    assert "Below: the usual" in page


def test_a_firms_minutes_are_the_middle_of_its_own(firm, taken_up, machine, sweep_of):
    assert minutes_of(firm).of("guide bushing") == 15.0
    for place in range(FEWEST_GAPS + 1):
        check = sweep_of(item_of(machine, "guide bushing"), 0.0)
        Check.objects.filter(pk=check.pk).update(
            made_at=check.made_at - timedelta(minutes=7 * place)
        )
    found = minutes_of(firm)
    assert found.is_own("guide bushing")
    assert found.of("guide bushing") == pytest.approx(7, abs=0.1)
    assert not found.is_own("sub-spindle")


def test_more_crashes_cost_no_more_queries(
    crashes_before, called_for, crash, taken_up, machine, django_assert_max_num_queries
):
    crashes_before(1)
    called_for(crash("guide bushing", severity="hard"))
    with django_assert_max_num_queries(40) as few:
        what_moved(taken_up, machine)
    crashes_before(3)
    with django_assert_max_num_queries(len(few)):
        what_moved(taken_up, machine)


def test_a_reader_has_no_use_for_it(client, owner, taken_up, machine):
    client.force_login(owner)
    page = reverse("alignment:what_moved", args=[taken_up.pk, machine.pk])
    assert client.get(page).status_code == 403


def page_of(browser, visit, machine):
    return browser.get(reverse("alignment:what_moved", args=[visit.pk, machine.pk])).text


def test_crashes_like_this_are_counted_with_links(
    crashes_before, called_for, crash, taken_up, machine, at_work, contractor
):
    crashes_before(3)
    incident = called_for(crash("guide bushing", severity="knock"))
    found = crashes_like(incident, contractor, but=taken_up)
    (housing,) = found.kinds
    assert (found.count, housing.moved, housing.swept) == (3, 3, 3)
    assert housing.least_um == pytest.approx(40, abs=0.5)
    page = " ".join(page_of(at_work, taken_up, machine).split())
    assert "Of 3 crashes like this at visits you can open" in page
    assert all(visit.get_absolute_url() in page for visit in found.newest)


@pytest.mark.parametrize(
    ("kind", "severity"), [("sub-spindle", "knock"), ("guide bushing", "hard")]
)
def test_another_kind_of_station_or_hardness_is_not_like_it(
    kind, severity, crashes_before, crash, taken_up, contractor
):
    crashes_before(1)
    assert crashes_like(crash(kind, severity=severity), contractor, but=taken_up) is None


def test_another_machine_at_the_same_visit_is_not_counted(
    crash, machine, shop, sweep_of, signed, taken_up, contractor
):
    other = five_station_machine(shop=shop)
    there = VisitFactory(shop=shop, firm=taken_up.firm, contractor=contractor)
    hit = crash("guide bushing", severity="knock")
    VisitedMachine.objects.create(visit=there, machine=machine, incident=hit)
    VisitedMachine.objects.create(visit=there, machine=other)
    for one in (machine, other):
        sweep_of(item_of(one, "guide bushing"), 40.0, visit=there)
        housing = station_of(one, "guide bushing")
        record_adjustment(visit=there, station=housing, what="tapped over", made_by=contractor)
    signed(there)
    incident = crash("guide bushing", severity="knock")
    (found,) = crashes_like(incident, contractor, but=taken_up).kinds
    assert (found.moved, found.swept) == (1, 1)


def test_what_somebody_cannot_open_is_not_counted(crashes_before, crash, taken_up, stranger):
    crashes_before(1)
    incident = crash("guide bushing", severity="knock")
    assert crashes_like(incident, stranger, but=taken_up) is None


def test_more_crashes_like_this_cost_no_more_queries(
    crashes_before, crash, taken_up, contractor, django_assert_max_num_queries
):
    incident = crash("guide bushing", severity="knock")
    for count in (1, 3):
        crashes_before(count)
        with django_assert_max_num_queries(6):
            crashes_like(incident, contractor, but=taken_up)
