"""Saving sweeps as checks, and what stands against it."""

import dataclasses
import uuid
from decimal import Decimal

import pytest
from django.db import transaction
from django.utils import timezone

from alignment.adjusting.services import record_adjustment
from alignment.sheets.models import AcceptanceSheet
from alignment.sweeps.measuring import TypedReading, stored_sweep, work_out
from alignment.sweeps.models import Check, Reading
from alignment.sweeps.services import save_check
from shop.visits.models import Visit
from shop.visits.services import sign_visit
from shop.web.errors import Refused
from tests import factories
from tests.factories import item_of, station_of, typed_sweep


@pytest.fixture
def item(machine):
    """The bore of the guide bushing housing: at most 10 µm off the headstock axis."""
    return item_of(machine, "guide bushing")


@pytest.fixture
def save(visit, item, contractor):
    """Saves a sweep of the item at the visit, as found unless told."""

    def save_sweep(sweep, **more):
        return save_check(
            **{
                "visit": visit,
                "item": item,
                "phase": "as found",
                "sweep": sweep,
                "made_by": contractor,
                **more,
            }
        )

    return save_sweep


@pytest.fixture
def sign(settings):
    settings.BEFORE_SIGNING = []
    return lambda visit: sign_visit(visit, contractor=("A", "service"), customer=("B", "owner"))


def test_a_saved_check_shows_where_the_bore_sits(save):
    """A sweep made from a centre 3 µm right and 4 µm low: 5 µm off, by 3-4-5."""
    check = save(typed_sweep(3, -4))
    assert check.right_um == pytest.approx(3)
    assert check.up_um == pytest.approx(-4)
    assert check.value_um == pytest.approx(5)


def test_a_bore_and_a_boss_read_the_same_centre_with_opposite_signs(save, machine, visit):
    slide = item_of(machine, "gang tools")
    check = save(typed_sweep(7, 2, surface="boss"), item=slide)
    assert check.right_um == pytest.approx(7)
    assert check.value_um == pytest.approx(7)  # this item asks for the sideways part alone


def test_readings_are_kept_exactly_as_typed(save):
    sweep = typed_sweep(0, 0)
    typed = (
        TypedReading(0.0, "0", "um", Decimal(0)),
        TypedReading(90.0, ".0002", "in", Decimal("5.08")),
        TypedReading(180.0, "4 tenths", "in", Decimal("10.16")),
        TypedReading(270.0, "0.00508 mm", "mm", Decimal("5.08")),
    )
    check = save(dataclasses.replace(sweep, readings=typed))
    stored = check.sweeps.get().readings.all()
    assert [(r.typed, r.unit, r.value_um) for r in stored] == [
        (t.typed, t.unit, t.value_um) for t in typed
    ]


def test_a_figure_can_be_worked_out_again_from_what_was_stored(save, item):
    check = save(typed_sweep(6.2, -1.7, angles=(0, 45, 90, 135, 180, 225, 270, 315)))
    again = work_out(item, stored_sweep(Check.objects.get().sweeps.get()))
    assert (again.value_um, again.fit.right_um) == (check.value_um, check.right_um)


@pytest.mark.parametrize(
    ("offset_um", "verdict"),
    [(3, "within"), (9.5, "not proven"), (10.5, "not proven"), (14, "outside")],
)
def test_a_check_is_judged_by_the_item_s_own_limit(save, offset_um, verdict):
    """Limit 10 µm; four readings of u 0.5 µm give 0.5·√(2/4) = 0.354 µm, so U = 0.71 µm.

    Decision rule: ISO 14253-1, k = 2.
    """
    assert save(typed_sweep(offset_um, 0)).verdict == verdict


def test_the_limits_in_force_are_kept_with_the_check(save, item):
    check = save(typed_sweep(3, 0))
    item.upper_um = Decimal("2")
    item.save()
    check.refresh_from_db()
    assert (check.upper_um, check.factory_um, check.verdict) == (10, 3, "within")


def test_a_sweep_that_cannot_be_worked_out_leaves_nothing_behind(save, visit):
    two = typed_sweep(3, 0, angles=(0, 180))
    with pytest.raises(ValueError, match=r"."), transaction.atomic():
        save(two)
    assert not Check.objects.exists()
    assert not Reading.objects.exists()


def test_the_first_sweep_puts_the_visit_on_site_with_its_machine(save, visit, machine):
    save(typed_sweep(3, 0))
    visit.refresh_from_db()
    assert visit.state == Visit.State.ON_SITE
    assert visit.visited.get().machine == machine


def test_a_sweep_sent_twice_is_one_check(save):
    entry_id = uuid.uuid4()
    first = save(typed_sweep(3, 0), entry_id=entry_id)
    assert save(typed_sweep(3, 0), entry_id=entry_id) == first
    assert Reading.objects.count() == 4


def test_a_machine_of_another_shop_is_refused(save):
    elsewhere = factories.five_station_machine(number="X1")
    with pytest.raises(Refused, match="another shop"):
        save(typed_sweep(3, 0), item=item_of(elsewhere, "guide bushing"))
    assert not Check.objects.exists()


def test_a_sheet_that_is_no_longer_in_force_is_refused(save, item):
    AcceptanceSheet.objects.update(is_current=False)
    item.refresh_from_db()
    with pytest.raises(Refused, match="no longer in force"):
        save(typed_sweep(3, 0))


@pytest.mark.parametrize("moved", ["guide bushing", "headstock"])
def test_as_found_is_refused_once_the_station_or_its_datum_was_moved(
    save, visit, machine, contractor, moved
):
    record_adjustment(
        visit=visit, station=station_of(machine, moved), what="tapped", made_by=contractor
    )
    with pytest.raises(Refused, match="no longer 'as found'"):
        save(typed_sweep(3, 0))


def test_as_found_is_taken_after_something_downstream_was_moved(save, visit, machine, contractor):
    record_adjustment(
        visit=visit, station=station_of(machine, "sub-spindle"), what="shimmed", made_by=contractor
    )
    assert save(typed_sweep(3, 0)).phase == "as found"


def test_as_left_is_taken_after_the_station_was_moved(save, visit, machine, contractor):
    save(typed_sweep(14, 0))
    record_adjustment(
        visit=visit, station=station_of(machine, "guide bushing"), what="tap", made_by=contractor
    )
    assert save(typed_sweep(2, 0), phase="as left").verdict == "within"


def test_an_earlier_visit_s_adjustment_does_not_spoil_as_found(
    save, visit, machine, contractor, sign
):
    record_adjustment(
        visit=visit, station=station_of(machine, "guide bushing"), what="tap", made_by=contractor
    )
    sign(visit)
    later = factories.VisitFactory(shop=visit.shop, firm=visit.firm, contractor=contractor)
    assert save(typed_sweep(3, 0), visit=later).visit == later


def test_a_signed_visit_takes_no_further_sweep(save, visit, sign):
    sign(visit)
    with pytest.raises(Refused, match="no longer changes"):
        save(typed_sweep(3, 0))


def test_a_correction_of_a_signed_check_is_a_new_one_that_names_it(save, visit, contractor, sign):
    wrong = save(typed_sweep(14, 0))
    sign(visit)
    later = factories.VisitFactory(
        shop=visit.shop, firm=visit.firm, contractor=contractor, corrects=visit
    )
    right = save(typed_sweep(4, 0), visit=later, corrects=wrong)
    assert right.corrects == wrong
    assert list(Check.objects.not_superseded()) == [right]
    assert Check.objects.get(pk=wrong.pk).value_um == pytest.approx(14)


def test_a_check_is_corrected_once(save):
    wrong = save(typed_sweep(14, 0))
    save(typed_sweep(4, 0), corrects=wrong)
    with pytest.raises(Refused, match="corrected already"):
        save(typed_sweep(5, 0), corrects=wrong)


def test_a_check_does_not_correct_that_of_another_item(save, machine):
    other = save(typed_sweep(3, 0), item=item_of(machine, "sub-spindle"))
    with pytest.raises(Refused, match="another acceptance item"):
        save(typed_sweep(4, 0), corrects=other)


def test_a_check_can_be_entered_with_the_moment_it_was_made(save):
    made_at = timezone.now() - timezone.timedelta(days=30)
    assert save(typed_sweep(3, 0), made_at=made_at).made_at == made_at
