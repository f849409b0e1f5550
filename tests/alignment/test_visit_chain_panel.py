"""The chains on a visit's page: what was found, what was left, what is stale, what to do next."""

import pytest
from django.test import RequestFactory

from alignment.drift.panels import alignment_now, series, visit_chain
from alignment.sheets.models import AcceptanceItem
from alignment.sweeps.chain_view import chain_at
from machines.register.models import Station
from machines.visit_work.services import add_machine_to_visit
from shop.visits.models import Visit
from shop.visits.services import correct_visit
from shop.web.request_memo import RequestMemo
from tests.factories import five_station_machine, item_of, station_of

from .conftest import sweep_url


@pytest.fixture
def page(at_work, taken_up):
    return lambda visit=taken_up: at_work.get(visit.get_absolute_url()).text


def part_of(text, machine, kind):
    """The part of the page that is about one station."""
    station = station_of(machine, kind)
    return text.partition(f'id="station-{station.pk}"')[2].partition("</li>")[0]


def asked_by(user):
    request = RequestFactory().get("/")
    request.user = user
    return request


def test_stations_stand_in_checking_order(page, machine):
    text = page()
    places = [text.index(f'id="station-{station.pk}"') for station in machine.stations.all()]
    assert places == sorted(places)


def test_each_item_shows_tolerance_and_the_factory_s_own_figure(page, machine):
    part = part_of(page(), machine, "gang tools")
    assert "± 0.02 mm" in part
    assert "0.004 mm down" in part


def test_as_found_and_as_left_stand_side_by_side_with_their_verdicts(
    page, machine, sweep_of, moved, bore
):
    found = sweep_of(bore, 40, 0)
    moved()
    left = sweep_of(bore, 2, 0, "as left")
    part = part_of(page(), machine, "guide bushing")
    as_found = part.partition('data-label="As found"')[2].partition("</td>")[0]
    as_left = part.partition('data-label="As left"')[2].partition("</td>")[0]
    assert (f'href="{found.get_absolute_url()}">0.0400 mm' in as_found, "outside" in as_found) == (
        True,
        True,
    )
    assert (f'href="{left.get_absolute_url()}">0.0020 mm' in as_left, "within" in as_left) == (
        True,
        True,
    )


def test_what_was_found_and_not_moved_counts_as_left(page, machine, sweep_of, bore):
    sweep_of(bore)
    assert "as found, nothing was moved" in part_of(page(), machine, "guide bushing")


def test_a_stale_station_says_because_of_which(page, machine, sweep_of, moved):
    sweep_of(item_of(machine, "sub-spindle"))
    moved("guide bushing")
    part = part_of(page(), machine, "sub-spindle")
    assert "stale since the guide bushing housing was adjusted: measure again" in part


def test_an_adjustment_is_told_at_its_station(page, machine, moved):
    moved(front_um=-31, what="bolts loosened, tapped over")
    part = part_of(page(), machine, "guide bushing")
    assert "bolts loosened, tapped over" in part
    assert "moved 0.031 mm to the rear" in part


def test_each_item_can_be_swept_as_found_and_as_left(page, machine, taken_up, bore):
    part = part_of(page(), machine, "guide bushing")
    for phase in ("as+found", "as+left"):
        assert f'href="{sweep_url(taken_up, bore)}?phase={phase}"' in part


def test_as_found_is_no_longer_offered_of_what_was_moved_and_what_is_measured_from_it(
    page, machine, moved
):
    moved("guide bushing")
    text = page()
    offered = {
        kind
        for kind in ("headstock", "guide bushing", "sub-spindle", "back tools", "gang tools")
        if "Sweep as found" in part_of(text, machine, kind)
    }
    assert offered == {"headstock", "back tools"}


def test_an_owner_reads_and_is_offered_nothing_to_do(client, owner, taken_up):
    client.force_login(owner)
    text = client.get(taken_up.get_absolute_url()).text
    assert "guide bushing housing" in text
    assert "Sweep as found" not in text
    assert "Record an adjustment" not in text


def test_a_signed_visit_offers_nothing_to_do(page, taken_up, signed):
    signed(taken_up)
    assert "Sweep as left" not in page()


def test_at_a_correction_each_check_of_the_old_visit_can_be_corrected(
    page, machine, sweep_of, bore, taken_up, signed, contractor, firm
):
    old = sweep_of(bore)
    signed(taken_up)
    taken_up.refresh_from_db()
    correction = correct_visit(taken_up, made_by=contractor, firm=firm, reason="a slip")
    add_machine_to_visit(correction, machine)
    part = part_of(page(correction), machine, "guide bushing")
    assert f'href="{sweep_url(correction, bore, corrects=old.pk)}"' in part
    assert "Sweep as found" not in part


def test_a_machine_without_stations_says_what_to_do(page, machine):
    AcceptanceItem.objects.all().delete()
    for station in Station.objects.order_by("-position"):
        station.delete()
    assert "No stations yet" in page()


def test_the_page_costs_the_same_with_more_checks_and_machines(
    at_work, taken_up, machine, shop, sweep_of, django_assert_max_num_queries
):
    with django_assert_max_num_queries(69) as short:
        at_work.get(taken_up.get_absolute_url())
    add_machine_to_visit(taken_up, five_station_machine(shop, number="M2"))
    for item in machine.sheets.get().items.all():
        sweep_of(item)
        sweep_of(item, phase="as left")
    with django_assert_max_num_queries(len(short)):
        at_work.get(taken_up.get_absolute_url())


def test_the_panel_costs_twelve_queries_at_most(
    taken_up, contractor, sweep_of, bore, django_assert_max_num_queries
):
    """The machines visited, which of them are stopped, the chain's six, what the incident says
    first, the belts that are off, what changed at the shop, and the person's place."""
    sweep_of(bore)
    visit = Visit.objects.select_related("shop").get(pk=taken_up.pk)
    page = RequestMemo(lambda request: visit_chain(visit, request))
    with django_assert_max_num_queries(12):
        page(asked_by(contractor))


class TestOnTheMachinesPage:
    """The chain as it stands today, and the small pictures."""

    def states(self, machine, user):
        panel = alignment_now(machine, asked_by(user))
        return {state.station.kind: state for _number, state, _rows in panel.context["stations"]}

    def test_the_last_check_counts_whichever_visit_made_it(self, machine, owner, sweep_of, bore):
        check = sweep_of(bore)
        state = self.states(machine, owner)["guide bushing"]
        assert (state.word, state.items[0].newest) == ("measured", check)

    def test_what_was_moved_and_not_measured_again_is_stale(
        self, machine, owner, sweep_of, moved, bore
    ):
        sweep_of(bore)
        moved()
        assert self.states(machine, owner)["guide bushing"].word == "stale"

    def test_what_was_never_measured_is_not_stale(self, machine, owner, moved):
        moved()
        assert self.states(machine, owner)["sub-spindle"].word == "not measured"

    def test_a_correction_entered_later_does_not_freshen_what_was_moved_since(
        self, machine, owner, sweep_of, moved, bore, taken_up, signed, contractor, firm
    ):
        old = sweep_of(bore)
        moved()
        signed(taken_up)
        taken_up.refresh_from_db()
        correction = correct_visit(taken_up, made_by=contractor, firm=firm, reason="a slip")
        sweep_of(bore, 5, 0, visit=correction, corrects=old)
        assert self.states(machine, owner)["guide bushing"].word == "stale"

    def test_items_that_were_measured_get_a_picture(self, machine, owner, sweep_of, bore):
        sweep_of(bore)
        panel = series(machine, asked_by(owner))
        assert [one["item"] for one in panel.context["series"]] == [bore]
        assert len(panel.context["unmeasured"]) == 5

    def test_a_machine_without_a_sheet_has_no_such_panel(self, machine, owner):
        machine.sheets.update(is_current=False)
        assert series(machine, asked_by(owner)) is None

    def test_both_panels_stand_on_the_page(self, client, owner, machine, sweep_of, bore):
        sweep_of(bore)
        client.force_login(owner)
        text = client.get(machine.get_absolute_url()).text
        assert "Alignment now" in text
        assert f"/items/{bore.pk}/series.svg" in text

    def test_the_page_costs_the_same_however_many_checks(
        self, client, owner, machine, sweep_of, bore, django_assert_max_num_queries
    ):
        sweep_of(bore)
        client.force_login(owner)
        with django_assert_max_num_queries(55) as short:
            client.get(machine.get_absolute_url())
        for item in machine.sheets.get().items.all():
            sweep_of(item)
            sweep_of(item, phase="as left")
        with django_assert_max_num_queries(len(short)):
            client.get(machine.get_absolute_url())


def test_a_correction_of_a_correction_reaches_back_to_the_first_visit(
    at_work, machine, sweep_of, bore, taken_up, signed, contractor, firm
):
    visits, checks = [taken_up], [sweep_of(bore, 4, 0)]
    for right_um in (5, 6):
        signed(visits[-1])
        visits[-1].refresh_from_db()
        visits.append(
            correct_visit(visits[-1], made_by=contractor, firm=firm, reason="another slip")
        )
        add_machine_to_visit(visits[-1], machine)
        checks.append(sweep_of(bore, right_um, 0, visit=visits[-1], corrects=checks[-1]))
    shown = {
        visit: next(
            round(one.as_found.value_um)
            for state in chain_at(machine, visit)
            for one in state.items
            if one.item == bore
        )
        for visit in visits
    }
    assert list(shown.values()) == [4, 5, 6]
