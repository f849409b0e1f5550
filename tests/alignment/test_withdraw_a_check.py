"""What was entered by mistake is withdrawn, moved or restored until the visit is signed."""

import pytest
from django.db import DatabaseError, transaction
from django.urls import reverse
from django.utils import timezone

from alignment.adjusting.models import StepTick
from alignment.adjusting.ticking import take_tick_back, tick
from alignment.drift.records import load
from alignment.sweeps.chain_view import chain_at
from alignment.sweeps.models import Adjustment, Check
from shop.audit.models import Change
from shop.audit.tables import key_of
from shop.visits.signed import signed_rows
from shop.visits.withdrawing import move, restore, withdraw, withdrawn_at_visit
from shop.web.errors import Refused
from tests.factories import item_of, station_of

from .conftest import sweep_url, typed

WHY = "typed at the wrong station"


def state_at(machine, visit, kind="guide bushing"):
    chain = chain_at(machine, visit)
    return next(state for state in chain if state.station.kind == kind).items[0]


def test_a_withdrawn_check_says_nothing_any_more(sweep_of, bore, machine, taken_up, contractor):
    check = sweep_of(bore, 40)
    withdraw(check, by=contractor, why=WHY)
    assert state_at(machine, taken_up).as_found is None
    assert not Check.objects.filter(pk=check.pk).exists()
    assert not taken_up.checks.exists()
    assert Check.everything.get(pk=check.pk).withdrawn_why == WHY


def test_the_drift_of_an_item_goes_without_it(sweep_of, bore, taken_up, contractor):
    def visits():
        series = load([bore.sheet.machine_id], until=timezone.now())
        return [len(one.visits) for one in series if one.item == bore]

    check = sweep_of(bore, 40)
    assert visits() == [1]
    withdraw(check, by=contractor, why=WHY)
    assert visits() == [0]


def test_it_is_not_signed_and_stays_as_it_was_withdrawn(
    sweep_of, bore, taken_up, contractor, signed
):
    check = sweep_of(bore, 40)
    withdraw(check, by=contractor, why=WHY)
    assert not [one for _name, one, _rows in signed_rows(taken_up) if isinstance(one, Check)]
    signed(taken_up)
    with pytest.raises(Refused, match="signed"):
        restore(check, by=contractor)
    with pytest.raises(DatabaseError), transaction.atomic():
        Check.everything.filter(pk=check.pk).update(
            withdrawn_at=None, withdrawn_by=None, withdrawn_why=""
        )


def test_what_was_signed_is_not_withdrawn(sweep_of, bore, taken_up, contractor, signed):
    check = sweep_of(bore)
    signed(taken_up)
    with pytest.raises(Refused, match="signed"):
        withdraw(check, by=contractor, why=WHY)
    with pytest.raises(DatabaseError), transaction.atomic():
        Check.everything.filter(pk=check.pk).update(
            withdrawn_at=timezone.now(), withdrawn_by=contractor, withdrawn_why=WHY
        )


def test_it_asks_for_a_reason_and_keeps_it_on_the_trail(sweep_of, bore, contractor):
    check = sweep_of(bore)
    with pytest.raises(Refused, match="Say why"):
        withdraw(check, by=contractor, why=" ")
    withdraw(check, by=contractor, why=WHY)
    assert WHY in str(Change.objects.filter(record=key_of(check)).order_by("pk").values().last())


def test_a_withdrawn_adjustment_leaves_nothing_stale(
    sweep_of, bore, machine, taken_up, moved, contractor
):
    sweep_of(bore)
    adjustment = moved()
    assert state_at(machine, taken_up).state.is_stale
    withdraw(adjustment, by=contractor, why=WHY)
    assert state_at(machine, taken_up).state.counts
    restore(adjustment, by=contractor)
    assert state_at(machine, taken_up).state.is_stale


def test_an_adjustment_is_moved_to_the_station_it_belongs_to(moved, machine, contractor):
    adjustment = moved("guide bushing", front_um=-12)
    station = station_of(machine, "sub-spindle")
    new = move(adjustment, station.pk, by=contractor, why=WHY)
    assert list(Adjustment.objects.all()) == [new]
    assert (new.station, new.made_at, new.front_um) == (station, adjustment.made_at, -12)


def test_a_check_is_moved_with_its_readings_and_the_time_they_were_taken(
    sweep_of, bore, machine, contractor, moved
):
    check = sweep_of(bore, 9.0)
    moved("guide bushing")
    other = item_of(machine, "sub-spindle")
    new = move(check, other.pk, by=contractor, why=WHY)
    assert (new.item, new.phase, new.made_at) == (other, "as found", check.made_at)
    assert [r.typed for r in new.sweeps.get().readings.all()] == [
        r.typed for r in check.sweeps.get().readings.all()
    ]
    assert f"belongs to the {other}" in Check.everything.get(pk=check.pk).withdrawn_why


def test_a_withdrawn_correction_lets_what_it_corrected_stand_again(sweep_of, bore, contractor):
    wrong = sweep_of(bore, 40)
    right = sweep_of(bore, 4, corrects=wrong)
    assert list(Check.objects.not_superseded()) == [right]
    withdraw(right, by=contractor, why=WHY)
    assert list(Check.objects.not_superseded()) == [wrong]
    other = sweep_of(bore, 5, corrects=Check.objects.get(pk=wrong.pk))
    with pytest.raises(Refused, match="corrected anew"):
        restore(right, by=contractor)
    withdraw(other, by=contractor, why=WHY)
    restore(right, by=contractor)
    assert list(Check.objects.not_superseded()) == [right]


def test_a_tick_is_withdrawn_ticked_again_and_then_not_restored(taken_up, machine, contractor):
    at = {"visit": taken_up, "station": station_of(machine, "guide bushing"), "key": "locked-out"}
    done = tick(**at, made_by=contractor)
    take_tick_back(**at, by=contractor)
    assert not StepTick.objects.exists()
    assert withdrawn_at_visit(taken_up) == [done]
    tick(**at, made_by=contractor)
    with pytest.raises(Refused, match="ticked again"):
        restore(done, by=contractor)


class TestATypoInAsFound:
    """It is mended after the station was moved too, with the time of the first reading."""

    def test_the_corrected_figure_has_the_time_of_the_first(
        self, at_work, taken_up, sweep_of, bore, moved, machine
    ):
        wrong = sweep_of(bore, 400)
        moved()
        data = typed(["0.004", "0.000", "-0.004", "0.000"], save="check")
        at_work.post(sweep_url(taken_up, bore, corrects=wrong.pk), data)
        state = state_at(machine, taken_up)
        assert state.as_found.corrects == wrong
        assert (state.as_found.measured_at, state.as_found.phase) == (wrong.made_at, "as found")
        assert state.state.is_stale

    def test_the_check_s_page_leads_there(self, at_work, taken_up, sweep_of, bore):
        check = sweep_of(bore)
        page = at_work.get(check.get_absolute_url()).text
        assert f'href="{sweep_url(taken_up, bore, corrects=check.pk)}"' in page


class TestOnPages:
    """One tap withdraws, one tap restores; others do not see what was withdrawn."""

    def test_one_tap_each(self, at_work, taken_up, sweep_of, bore):
        check = sweep_of(bore)
        key = check.withdrawal_key
        address = reverse("shop:withdraw", args=[taken_up.pk, key])
        assert address in at_work.get(check.get_absolute_url()).text
        page = at_work.post(address, {"why": "Entered by mistake"}, follow=True).text
        back = reverse("shop:restore", args=[taken_up.pk, key])
        assert back in page.partition('id="withdrawn"')[2]
        at_work.post(back)
        assert Check.objects.filter(pk=check.pk).exists()

    def test_the_owner_sees_nothing_of_it(
        self, client, owner, taken_up, sweep_of, bore, contractor
    ):
        check = sweep_of(bore)
        withdraw(check, by=contractor, why=WHY)
        client.force_login(owner)
        assert client.get(check.get_absolute_url()).status_code == 404
        assert WHY not in client.get(taken_up.get_absolute_url()).text

    def test_figures_of_an_unsigned_visit_are_not_signed_yet_for_others_alone(
        self, client, owner, contractor, taken_up, sweep_of, bore, machine
    ):
        check = sweep_of(bore)
        addresses = [one.get_absolute_url() for one in (taken_up, check, machine)]
        for person, is_told in ((owner, True), (contractor, False)):
            client.force_login(person)
            told = ["ot signed yet" in " ".join(client.get(a).text.split()) for a in addresses]
            assert told == [is_told] * 3
