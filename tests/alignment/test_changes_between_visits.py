"""What changed on a machine between two of its visits."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from alignment.adjusting.services import record_adjustment
from alignment.sweeps.between_visits import item_changes
from alignment.sweeps.models import Check
from alignment.sweeps.services import save_check
from machines.drive import inspecting
from machines.drive.services import fit_advised
from machines.history.between import Between, advice, meter_hours, parts_fitted, visits_of
from machines.incidents import services as incidents_services
from machines.visit_work import services as visit_work_services
from shop.visits.models import Visit
from shop.visits.services import correct_visit, open_visit, sign_visit
from tests import factories

FOUND, LEFT = Check.Phase.AS_FOUND, Check.Phase.AS_LEFT


@pytest.fixture
def come(machine, firm, contractor):
    """A function that makes a visit to the machine on a day of March 2025, 9 to 17 o'clock."""

    def make(day):
        visit = open_visit(
            shop=machine.shop, firm=firm, contractor=contractor, purpose="check", made_by=contractor
        )
        visit_work_services.add_machine_to_visit(visit, machine)
        Visit.objects.filter(pk=visit.pk).update(
            state="on site", arrived_at=factories.at(day), left_at=factories.at(day, 17)
        )
        visit.refresh_from_db()
        return visit

    return make


@pytest.fixture
def bore(machine):
    """The guide bushing's bore to the headstock axis, an offset."""
    return factories.item_of(machine, "guide bushing")


def sweep(visit, item, phase, right=0.0, up=0.0, *, hour=10, **more):
    return save_check(
        visit=visit,
        item=item,
        phase=phase,
        sweeps=[factories.typed_sweep(right, up)],
        made_by=visit.contractor,
        made_at=visit.arrived_at.replace(hour=hour),
        **more,
    )


def only_change(machine, earlier, later):
    (change,) = item_changes(machine, earlier, later, "um")
    return change


def test_what_moved_runs_from_left_then_to_found_now(machine, come, bore):
    earlier, later = come(3), come(17)
    sweep(earlier, bore, FOUND, 20, 0)
    record_adjustment(
        visit=earlier,
        station=bore.station,
        what="brought over",
        made_by=earlier.contractor,
        made_at=factories.at(3, 11),
    )
    sweep(earlier, bore, LEFT, 0, 0, hour=12)
    sweep(later, bore, FOUND, 0, 12)
    change = only_change(machine, earlier, later)
    assert change.since.words.startswith("12.0 µm ± ")
    assert change.since.words.endswith(" up")
    assert change.since.proven


def test_a_move_within_the_uncertainty_is_not_proven(machine, come, bore):
    earlier, later = come(3), come(17)
    sweep(earlier, bore, FOUND, 0, 0.1)
    sweep(later, bore, FOUND, 0, 0.2)
    change = only_change(machine, earlier, later)
    assert change.since.words.endswith("not proven")
    assert change.since.proven is False


def test_where_nothing_was_moved_it_was_left_as_found(machine, come, bore):
    earlier, later = come(3), come(17)
    found = sweep(earlier, bore, FOUND, 0, 4)
    sweep(later, bore, FOUND, 0, 5)
    change = only_change(machine, earlier, later)
    assert change.left_then.check == found
    assert change.left_as_found


@pytest.mark.parametrize("moved", ["guide bushing", "headstock"])
def test_what_was_moved_after_the_last_check_is_not_known(machine, come, bore, moved):
    """Moving the station or any it is measured from leaves the last check behind."""
    earlier, later = come(3), come(17)
    sweep(earlier, bore, FOUND, 0, 30)
    record_adjustment(
        visit=earlier,
        station=factories.station_of(machine, moved),
        what="brought over",
        made_by=earlier.contractor,
        made_at=factories.at(3, 12),
    )
    sweep(later, bore, FOUND, 0, 5)
    change = only_change(machine, earlier, later)
    assert change.left_then.check is None
    assert "moved after" in change.left_then.why_not
    assert change.since is None


def test_what_was_measured_at_one_visit_only_has_no_difference(machine, come, bore):
    earlier, later = come(3), come(17)
    sweep(later, bore, LEFT, 0, 5)
    change = only_change(machine, earlier, later)
    assert (change.left_then.why_not, change.found.why_not) == (
        "not measured",
        "not measured as found",
    )
    assert (change.since, change.in_all) == (None, None)


def test_a_correction_counts_for_the_visit_it_corrects(machine, come, bore, firm):
    earlier, later = come(3), come(17)
    wrong = sweep(earlier, bore, FOUND, 0, 40)
    Visit.objects.filter(pk=earlier.pk).update(come_back_for="the rest")
    earlier.refresh_from_db()
    sign_visit(
        earlier,
        contractor=("Ida", "contractor"),
        customer=("Tom", "owner"),
        at=factories.at(3, 17),
    )
    earlier.refresh_from_db()
    sweep(later, bore, FOUND, 0, 5)
    correction = correct_visit(earlier, made_by=earlier.contractor, firm=firm, reason="misread")
    right = save_check(
        visit=correction,
        item=bore,
        phase=FOUND,
        sweeps=[factories.typed_sweep(0, 4)],
        made_by=earlier.contractor,
        corrects=wrong,
    )
    change = only_change(machine, earlier, later)
    assert change.left_then.check == right
    assert correction not in visits_of(machine)


def test_limits_that_changed_are_said(machine, come, bore):
    earlier, later = come(3), come(17)
    sweep(earlier, bore, FOUND, 0, 4)
    bore.upper_um = 20
    bore.save()
    sweep(later, bore, FOUND, 0, 4)
    assert "Its tolerance was up to 10 µm then." in only_change(machine, earlier, later).note


def test_an_offset_asked_for_elsewhere_is_not_compared(machine, come, bore):
    earlier, later = come(3), come(17)
    sweep(earlier, bore, FOUND, 0, 4)
    bore.at_mm = 40
    bore.save()
    sweep(later, bore, FOUND, 0, 4)
    assert "not to be compared" in only_change(machine, earlier, later).since.words


def between(machine, earlier, later):
    return Between(machine=machine, earlier=earlier, later=later, unit="um")


def test_advice_that_was_renewed_is_neither_opened_nor_closed(machine, come, contractor):
    earlier, later = come(3), come(17)
    belt = machine.belts.first()
    look(belt, contractor, 2)
    look(belt, contractor, 10, worse=True)
    shown = advice(between(machine, earlier, later)).context
    assert (shown["opened"], shown["closed"]) == ([], [])


def test_advice_given_in_between_was_opened(machine, come, contractor):
    earlier, later = come(3), come(17)
    look(machine.belts.first(), contractor, 10)
    shown = advice(between(machine, earlier, later)).context
    assert [one.made_at.day for one in shown["opened"]] == [10]


def test_a_belt_fitted_in_between_closes_its_advice(machine, come, contractor):
    earlier, later = come(3), come(17)
    look(machine.belts.first(), contractor, 2)
    fit_advised(machine.recommendations.get(), made_by=contractor, made_at=factories.at(12))
    period = between(machine, earlier, later)
    ((_one, step),) = advice(period).context["closed"]
    assert step.state == "fitted"
    (event,) = parts_fitted(period).context["events"]
    assert event.when == factories.at(12)


def look(belt, person, day, worse=False):
    teeth = {7: "cracked", 8: "cracked"} if worse else {7: "cracked"}
    inspecting.inspect_belt(belt=belt, made_by=person, teeth=teeth, made_at=factories.at(day))


def test_hours_run_between_are_read_off_the_meter(machine, come, contractor):
    """100 h on the 1st, 340 h on the 25th: ten a day, 140 in the two weeks between."""
    earlier, later = come(3), come(17)
    factories.metered(machine, contractor, {factories.at(1): 100, factories.at(25): 340})
    shown = meter_hours(between(machine, earlier, later)).context
    assert shown["hours"] == pytest.approx(140)
    assert not shown["falls_short"]


def test_a_meter_read_too_early_gives_at_least_so_many_hours(machine, come, contractor):
    earlier, later = come(3), come(17)
    factories.metered(machine, contractor, {factories.at(1): 100, factories.at(11): 200})
    shown = meter_hours(between(machine, earlier, later)).context
    assert shown["hours"] == pytest.approx(80)
    assert shown["falls_short"]


def page(client, person, machine, **asked):
    client.force_login(person)
    return client.get(reverse("machines:changes", args=[machine.pk]), asked)


def test_the_last_two_visits_are_shown_unless_others_are_asked_for(client, owner, machine, come):
    first, second, third = come(3), come(10), come(17)
    form = page(client, owner, machine).context["form"]
    assert form.cleaned_data == {"since": second, "until": third}
    form = page(client, owner, machine, since=first.pk, until=third.pk).context["form"]
    assert form.cleaned_data == {"since": first, "until": third}


def test_a_visit_asked_for_is_held_against_the_one_before(client, owner, machine, come):
    first, second, _third = come(3), come(10), come(17)
    form = page(client, owner, machine, until=second.pk).context["form"]
    assert form.cleaned_data == {"since": first, "until": second}


def test_the_first_visit_of_all_has_none_before(client, owner, machine, come):
    first, _second = come(3), come(17)
    shown = page(client, owner, machine, until=first.pk)
    assert "until" in shown.context["form"].errors


def test_a_visit_s_page_leads_to_what_changed_since(client, owner, machine, come):
    visit = come(3)
    client.force_login(owner)
    address = f"{reverse('machines:changes', args=[machine.pk])}?until={visit.pk}"
    assert address in client.get(visit.get_absolute_url()).content.decode()


def test_every_section_stands_on_the_page(client, owner, machine, come):
    come(3), come(17)
    text = page(client, owner, machine).content.decode()
    for said in ("No station was adjusted", "No incident was logged", "Nothing was fitted"):
        assert said in text
    assert reverse("machines:read_meter", args=[machine.pk]) in text


def test_visits_the_wrong_way_round_are_refused_at_the_later(client, owner, machine, come):
    first, second = come(3), come(17)
    shown = page(client, owner, machine, since=second.pk, until=first.pk)
    assert shown.context["form"].errors["until"] == [
        f"Expected a visit after {second.number}, of 17 Mar 2025."
    ]


def test_a_visit_is_not_held_against_itself(client, owner, machine, come):
    first, _second = come(3), come(17)
    shown = page(client, owner, machine, since=first.pk, until=first.pk)
    assert "until" in shown.context["form"].errors


@pytest.mark.parametrize("named", ["other", "none", "words"])
def test_a_visit_that_is_not_the_machine_s_is_not_found(client, owner, machine, come, named):
    come(3), come(17)
    elsewhere = factories.VisitedMachineFactory(visit__arrived_at=factories.at(5)).visit
    asked = {"other": elsewhere.pk, "none": 999_999, "words": "first"}[named]
    assert page(client, owner, machine, since=asked).status_code == 404


def test_nor_is_one_before_the_machine_had_any(client, owner, machine):
    elsewhere = factories.VisitedMachineFactory(visit__arrived_at=factories.at(5)).visit
    assert page(client, owner, machine, until=elsewhere.pk).status_code == 404


def test_a_machine_without_two_visits_says_what_to_do(client, owner, contractor, machine, come):
    assert "No visit yet" in page(client, owner, machine).content.decode()
    come(3)
    text = page(client, contractor, machine).content.decode()
    assert "Only one visit so far" in text
    assert reverse("machines:open_visit", args=[machine.pk]) in text


def test_the_page_costs_the_same_however_many_checks(client, owner, machine, come, bore):
    earlier, later = come(3), come(17)
    sweep(earlier, bore, FOUND, 0, 1)
    sweep(later, bore, FOUND, 0, 2)
    few = queries_of(client, owner, machine)
    for kind in ("headstock", "sub-spindle", "back tools"):
        for visit in (earlier, later):
            sweep(visit, factories.item_of(machine, kind), FOUND, 0, 2)
    for day in range(4, 16):
        incidents_services.log_incident(
            machine=machine,
            made_by=owner,
            happened_at=factories.at(day) + timedelta(hours=1),
            kind="noise",
            may_run=True,
        )
    assert queries_of(client, owner, machine) == few <= 45


def queries_of(client, person, machine):
    client.force_login(person)
    with CaptureQueriesContext(connection) as ran:
        client.get(reverse("machines:changes", args=[machine.pk]))
    return len(ran)
