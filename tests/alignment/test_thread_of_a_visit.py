"""From one thing to the next at a visit: what saving leads to, skipping, and the bar."""

import pytest
from django.urls import reverse

from machines.drive.belts_off import take_belt_off
from tests.factories import item_of

from .conftest import sweep_url, typed

TRUE = ["0.000", "0.000", "0.000", "0.000"]
FAR_OUT = ["0.04", "0.00", "-0.04", "0.00"]


@pytest.fixture
def save(at_work, taken_up):
    """Saves a sweep as the page's button does, and gives where that leads."""

    def post(item, readings=TRUE, **said):
        data = typed(readings, surface=item.surface, save="next", **said)
        return at_work.post(sweep_url(taken_up, item), data).url

    return post


@pytest.fixture
def rest_is_found(machine, sweep_of):
    """Sweeps every line as found and true but those of one kind of station."""

    def sweep(*but):
        for item in machine.sheets.get().items.exclude(station__kind__in=but):
            sweep_of(item, 0.0)

    return sweep


def test_saving_a_sweep_leads_to_the_next_station_in_checking_order(save, machine, taken_up):
    first, second = item_of(machine, "headstock"), item_of(machine, "guide bushing")
    assert save(first) == sweep_url(taken_up, second, phase="as found")


def test_the_last_sweep_as_found_leads_to_the_move_of_what_is_outside(
    save, bore, taken_up, rest_is_found
):
    rest_is_found("guide bushing")
    adjust = reverse("alignment:adjust", args=[taken_up.pk, bore.station_id])
    for item in bore.sheet.items.filter(station=bore.station):
        led_to = save(item, FAR_OUT if item == bore else TRUE)
    assert led_to == adjust


def test_a_belt_that_is_off_comes_before_the_move(
    save, machine, taken_up, rest_is_found, contractor
):
    rest_is_found("gang tools")
    belt = machine.belts.first()
    take_belt_off(taken_up, belt, made_by=contractor)
    for item in machine.sheets.get().items.filter(station__kind="gang tools"):
        led_to = save(item)
    assert led_to == f"{reverse('machines:inspect_belt', args=[belt.pk])}?visit={taken_up.pk}"


def test_when_nothing_is_left_the_visit_is_shown(save, machine, taken_up, rest_is_found):
    rest_is_found("headstock")
    assert save(item_of(machine, "headstock")) == taken_up.get_absolute_url()


def test_a_skipped_step_is_passed_over_and_stays_open(at_work, machine, taken_up):
    first, second = item_of(machine, "headstock"), item_of(machine, "guide bushing")
    step = f"sweep-as-found:{first.pk}"
    led_to = at_work.post(reverse("alignment:skip", args=[taken_up.pk]), {"step": step}).url
    assert led_to == sweep_url(taken_up, second, phase="as found")
    page = at_work.get(taken_up.get_absolute_url()).text
    action = page.partition('id="next-thing"')[2].partition("</div>")[0]
    assert sweep_url(taken_up, second) in action
    assert f'href="{sweep_url(taken_up, first, phase="as found")}"' in page


def test_the_bar_names_each_station_with_its_state_and_loads_the_next_page_beforehand(
    at_work, machine, taken_up, sweep_of
):
    check = sweep_of(item_of(machine, "headstock"), 0.0)
    here, after = item_of(machine, "guide bushing"), item_of(machine, "sub-spindle")
    page = at_work.get(sweep_url(taken_up, here, phase="as found")).text
    bar = page.partition('class="thread-bar"')[2].partition("</nav>")[0]
    assert bar.count("<li>") == machine.stations.count()
    assert f'title="Headstock spindle: {check.verdict}"' in bar
    assert 'aria-current="step"' in bar
    prefetched = page.partition('<link rel="prefetch" as="document" href="')[2].partition('"')[0]
    assert prefetched == sweep_url(taken_up, after, phase="as found")


def test_the_bar_asked_for_anew_says_what_was_saved(at_work, machine, taken_up, save):
    first, second = item_of(machine, "headstock"), item_of(machine, "guide bushing")
    save(first)
    address = reverse("alignment:thread_bar", args=[taken_up.pk, second.pk])
    fresh = at_work.get(address, {"phase": "as found"}).text
    verdict = taken_up.checks.get().verdict
    assert f"as found: {verdict}." in fresh
    assert f'title="Headstock spindle: {verdict}"' in fresh


def test_a_signed_visit_has_no_thread(at_work, taken_up, signed, bore):
    signed(taken_up)
    assert 'rel="prefetch"' not in at_work.get(taken_up.get_absolute_url()).text
