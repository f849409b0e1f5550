"""From two damaged teeth to an approved, priced, ordered and fitted replacement."""

from decimal import Decimal
from functools import partial

import pytest

from machines.drive import report
from machines.drive.inspecting import inspect_belt
from machines.drive.models import Fitting, Recommendation, RecommendationStep, Removal
from machines.drive.recommending import take_step
from machines.drive.services import fit, fit_advised, inspect_bearing
from machines.visit_work.services import add_machine_to_visit
from shop.hooks import history
from shop.visits.reporting import report_of
from shop.visits.services import arrive
from shop.web.errors import Refused
from tests import factories
from tests.together import together

State = RecommendationStep.State


@pytest.fixture
def belt(machine):
    belt = machine.belts.get(name="guide bushing belt")
    belt.part.price, belt.part.in_van = Decimal("48.50"), 1
    belt.part.save()
    return belt


@pytest.fixture
def advice(belt, visit, contractor):
    add_machine_to_visit(visit, belt.machine)
    arrive(visit)
    inspect_belt(belt=belt, visit=visit, made_by=contractor, teeth={17: "marked", 18: "marked"})
    return Recommendation.objects.get()


def test_an_approval_keeps_the_price_of_that_day(advice, owner, belt):
    step = take_step(advice, State.APPROVED, made_by=owner)
    belt.part.price = Decimal("99")
    belt.part.save()
    assert step.unit_price == Decimal("48.50")


def test_only_what_was_approved_is_ordered(advice, contractor, owner):
    with pytest.raises(Refused, match="not approved"):
        take_step(advice, State.ORDERED, made_by=contractor)
    take_step(advice, State.APPROVED, made_by=owner)
    assert take_step(advice, State.ORDERED, made_by=contractor).unit_price == Decimal("48.50")


def test_the_contractor_marks_it_fitted_on_its_page(client, advice, contractor, visit, belt):
    client.force_login(contractor)
    client.post(
        advice.get_absolute_url(),
        {
            "state": "fitted",
            "visit": visit.pk,
            "part": belt.part.pk,
            "serial": "lot 42",
            "quantity": 1,
            "why": "worn",
            "taken_from": "in_van",
        },
    )
    new = Fitting.objects.in_place().get()
    assert (new.belt, new.serial, new.visit, new.part) == (belt, "lot 42", visit, belt.part)
    old = Removal.objects.get()
    assert (old.why, old.fitting.from_the_start, old.visit) == ("worn", True, visit)
    belt.part.refresh_from_db()
    assert belt.part.in_van == 0


def test_the_new_belt_starts_with_a_clean_map(advice, contractor, visit, belt):
    fit_advised(advice, made_by=contractor, visit=visit, serial="lot 42")
    assert not belt.inspections.not_superseded().of_present_belts().exists()
    inspect_belt(belt=belt, visit=visit, made_by=contractor, teeth={})
    assert not Recommendation.objects.open().exists()


def test_the_history_and_the_report_tell_it(advice, contractor, owner, visit, belt):
    take_step(advice, State.APPROVED, made_by=owner)
    fit_advised(advice, made_by=contractor, visit=visit, serial="lot 42")
    events = [event.text for event in history(belt.machine, limit=10, kind="replacements")]
    assert any("lot 42" in text for text in events)
    assert any("At 48.50 each." in text for text in events)
    heading, _table = report.fitted(report_of(visit))
    assert heading.outline[0] == "Fitted"


def test_stock_that_is_not_there_cannot_be_taken(advice, contractor, belt):
    with pytest.raises(Refused, match="there are 0 of GB-60 in the shelf"):
        fit_advised(advice, made_by=contractor, taken_from="on_shelf")
    assert not Fitting.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_the_last_one_on_the_shelf_is_fitted_once_though_two_take_it_at_once(shop, contractor):
    part = factories.PartFactory(shop=shop, number="GB-60", on_shelf=1)
    belts = [
        factories.BeltFactory(machine=factories.MachineFactory(shop=shop), part=part)
        for _ in range(3)
    ]
    fitted = together(
        *(partial(fit, belt, made_by=contractor, taken_from="on_shelf") for belt in belts)
    )
    assert sorted(type(one).__name__ for one in fitted) == ["Fitting", "Refused", "Refused"]
    part.refresh_from_db()
    assert part.on_shelf == 0
    assert Fitting.objects.in_place().filter(part=part, from_the_start=False).count() == 1


def test_a_declined_danger_stays_until_it_is_replaced(machine, owner, contractor, operator):
    bearing = factories.BearingFactory(machine=machine)
    inspect_bearing(bearing=bearing, made_by=operator, velocity_mm_s=Decimal("9"))
    advice = machine.recommendations.get()
    take_step(advice, State.DECLINED, made_by=owner, note="sold next month")
    dangers = machine.recommendations.declined_but_safety_relevant()
    assert list(dangers) == [advice]
    fit(bearing, made_by=contractor)
    assert not dangers.all().exists()


def test_a_declined_danger_stands_in_later_reports(machine, owner, operator, visit):
    bearing = factories.BearingFactory(machine=machine)
    inspect_bearing(bearing=bearing, made_by=operator, velocity_mm_s=Decimal("9"))
    take_step(machine.recommendations.get(), State.DECLINED, made_by=owner, note="sold soon")
    add_machine_to_visit(visit, machine)
    heading, _paragraph = report.declined(report_of(visit))
    assert heading.outline[0].startswith("Declined earlier")
