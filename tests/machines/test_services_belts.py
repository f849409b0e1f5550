"""Belt inspections and what they lead to."""

import uuid
from datetime import UTC, date, datetime

import pytest

from machines.drive import inspecting, recommending
from machines.drive.models import BeltInspection, Recommendation, RecommendationStep
from shop.visits.models import Visit
from shop.visits.services import sign_visit
from shop.web.errors import Refused
from tests import factories

State = RecommendationStep.State
NAMES = {"contractor": ("Ida M.", "service"), "customer": ("Tom Q.", "owner")}
TWO_MARKED = {17: "marked", 18: "marked"}


@pytest.fixture
def jack_belt(machine):
    return machine.belts.get(name="jack shaft belt")


@pytest.fixture
def look(visit, contractor):
    """Looks at a belt: `look(belt, {tooth: condition}, **more)`, at the visit unless told."""

    def inspect(belt, teeth, **more):
        return inspecting.inspect_belt(
            **{"belt": belt, "teeth": teeth, "visit": visit, "made_by": contractor, **more}
        )

    return inspect


@pytest.fixture
def next_visit(visit, settings):
    """Signs the visit and gives the next one of the same people."""
    settings.BEFORE_SIGNING = []

    def sign_and_plan():
        sign_visit(visit, **NAMES)
        return factories.VisitFactory(shop=visit.shop, firm=visit.firm, contractor=visit.contractor)

    return sign_and_plan


def test_two_marked_teeth_lead_to_a_replacement_that_names_its_evidence(belt, look):
    inspection = look(belt, TWO_MARKED)
    advice = Recommendation.objects.get()
    assert advice.urgency == Recommendation.Urgency.THIS_VISIT
    assert advice.part == belt.part
    evidence = advice.evidence.get()
    assert evidence.record == inspection
    assert "tooth 17 damaged, tooth 18 damaged" in evidence.sentence


def test_the_evidence_names_the_day_in_the_shop_s_zone(belt, look):
    """23:30 UTC is past midnight in Zurich."""
    look(belt, TWO_MARKED, made_at=datetime(2025, 3, 4, 23, 30, tzinfo=UTC))
    assert Recommendation.objects.get().evidence.get().sentence.startswith("5 Mar 2025")


@pytest.mark.parametrize("teeth", [{}, {17: "marked"}, {17: "worn"}, {17: "sound", 18: "marked"}])
def test_one_damaged_tooth_does_not_condemn_a_belt(belt, look, teeth):
    look(belt, teeth)
    assert not Recommendation.objects.exists()


@pytest.mark.parametrize("condition", ["cracked", "missing"])
def test_a_cracked_or_missing_tooth_is_replaced_before_it_runs_again(belt, look, condition):
    look(belt, {40: condition})
    assert Recommendation.objects.get().urgency == Recommendation.Urgency.BEFORE_RUN


def test_rules_that_agree_make_one_recommendation_with_every_reason(belt, look):
    look(belt, {**TWO_MARKED, 40: "missing"})
    advice = Recommendation.objects.get()
    assert advice.urgency == Recommendation.Urgency.BEFORE_RUN
    assert "tooth 40 missing" in advice.reason
    assert "2 of 60 teeth damaged or worn" in advice.reason
    assert advice.evidence.count() == 2


def test_sound_teeth_are_not_listed(belt, look):
    assert look(belt, {1: "sound", 2: "worn"}).conditions() == {2: "worn"}


@pytest.mark.parametrize("tooth", [0, 61, -3])
def test_a_tooth_the_belt_does_not_have_is_refused(belt, look, tooth):
    with pytest.raises(Refused):
        look(belt, {tooth: "marked"})
    assert not BeltInspection.objects.exists()


def test_a_belt_of_another_shop_is_refused_at_the_visit(look):
    elsewhere = factories.BeltFactory()
    with pytest.raises(Refused, match="another shop"):
        look(elsewhere, {})
    assert not BeltInspection.objects.exists()


def test_inspecting_a_belt_takes_its_machine_up_at_the_visit(belt, look, visit):
    look(belt, {})
    assert visit.visited.get().machine == belt.machine
    assert Visit.objects.get(pk=visit.pk).state == Visit.State.ON_SITE


def test_a_belt_can_be_looked_at_without_a_visit(belt, look, operator):
    look(belt, TWO_MARKED, visit=None, made_by=operator)
    assert Recommendation.objects.get().visit is None


def test_an_inspection_sent_twice_is_one_inspection(belt, look):
    entry_id = uuid.uuid4()
    first = look(belt, TWO_MARKED, entry_id=entry_id)
    assert look(belt, TWO_MARKED, entry_id=entry_id) == first
    assert BeltInspection.objects.count() == 1


def test_an_inspection_at_a_signed_visit_is_refused(belt, look, next_visit):
    next_visit()
    with pytest.raises(Refused, match="no longer changes"):
        look(belt, {})


def test_looking_again_at_the_same_visit_brings_the_recommendation_up_to_date(belt, look):
    look(belt, TWO_MARKED)
    look(belt, {**TWO_MARKED, 19: "worn"})
    advice = Recommendation.objects.get()
    assert "3 of 60 teeth" in advice.reason
    assert "tooth 19 worn" in advice.evidence.get().sentence


def test_a_mistyped_inspection_leaves_no_recommendation_behind(belt, look):
    wrong = look(belt, TWO_MARKED)
    look(belt, {17: "marked"}, corrects=wrong)
    assert not Recommendation.objects.exists()


def test_what_was_approved_and_is_no_longer_found_is_withdrawn_not_deleted(belt, look, owner):
    wrong = look(belt, TWO_MARKED)
    recommending.take_step(Recommendation.objects.get(), State.APPROVED, made_by=owner)
    look(belt, {}, corrects=wrong)
    steps = Recommendation.objects.get().steps.all()
    assert [step.state for step in steps] == [State.APPROVED, State.WITHDRAWN]


def test_what_still_holds_at_the_next_visit_is_renewed_there(belt, jack_belt, look, next_visit):
    look(belt, TWO_MARKED)
    old, later = Recommendation.objects.get(), next_visit()
    look(jack_belt, {}, visit=later)
    assert later.recommendations.get().reason == old.reason
    withdrawn = old.steps.get()
    assert withdrawn.state == State.WITHDRAWN
    assert later.number in withdrawn.note


def test_what_the_owner_answered_is_kept_when_it_is_renewed(
    belt, jack_belt, look, owner, next_visit
):
    look(belt, TWO_MARKED)
    old, later = Recommendation.objects.get(), next_visit()
    recommending.take_step(old, State.DEFERRED, made_by=owner, note="at the summer stop")
    look(jack_belt, {}, visit=later)
    kept = later.recommendations.get().steps.get()
    assert (kept.state, kept.made_by, kept.note) == (State.DEFERRED, owner, "at the summer stop")


def test_worse_evidence_asks_the_owner_anew(belt, look, owner, next_visit):
    look(belt, TWO_MARKED)
    old, later = Recommendation.objects.get(), next_visit()
    recommending.take_step(old, State.DEFERRED, made_by=owner, note="at the summer stop")
    look(belt, {**TWO_MARKED, 19: "worn"}, visit=later)
    assert not later.recommendations.get().steps.exists()


@pytest.mark.parametrize("state", [State.DONE, State.DECLINED])
def test_what_was_settled_is_not_asked_for_again_on_the_same_evidence(
    belt, jack_belt, look, contractor, state
):
    look(belt, TWO_MARKED)
    recommending.take_step(
        Recommendation.objects.get(), state, made_by=contractor, note="as agreed"
    )
    look(jack_belt, {})
    assert not Recommendation.objects.open().exists()


def test_a_declined_replacement_comes_back_with_new_evidence(belt, look, owner, next_visit):
    look(belt, TWO_MARKED)
    recommending.take_step(
        Recommendation.objects.get(), State.DECLINED, made_by=owner, note="later"
    )
    look(belt, TWO_MARKED, visit=next_visit())
    assert Recommendation.objects.open().count() == 1


def test_what_a_person_recommended_is_left_alone_by_the_rules(belt, look, visit, contractor):
    written = Recommendation.objects.create(
        machine=belt.machine,
        visit=visit,
        made_by=contractor,
        subject="guide bushing",
        what="Replace the guide bushing",
        urgency=Recommendation.Urgency.BY_DATE,
        by_date=date(2026, 1, 31),
        reason="It is scored.",
    )
    look(belt, {})
    assert list(Recommendation.objects.open()) == [written]


@pytest.mark.parametrize("state", [State.DECLINED, State.DEFERRED])
def test_saying_no_or_later_needs_a_reason(belt, look, owner, state):
    look(belt, TWO_MARKED)
    with pytest.raises(Refused, match="Say why"):
        recommending.take_step(Recommendation.objects.get(), state, made_by=owner, note=" ")


def test_a_settled_recommendation_takes_no_further_step(belt, look, owner):
    look(belt, TWO_MARKED)
    advice = Recommendation.objects.get()
    recommending.take_step(advice, State.DECLINED, made_by=owner, note="sold soon")
    with pytest.raises(Refused, match="settled already"):
        recommending.take_step(advice, State.APPROVED, made_by=owner)


def test_a_step_sent_twice_is_one_step(belt, look, owner):
    look(belt, TWO_MARKED)
    advice, entry_id = Recommendation.objects.get(), uuid.uuid4()
    for _ in range(2):
        recommending.take_step(advice, State.APPROVED, made_by=owner, entry_id=entry_id)
    assert advice.steps.count() == 1


def test_an_inspection_is_corrected_once(belt, look):
    wrong = look(belt, TWO_MARKED)
    look(belt, {}, corrects=wrong)
    with pytest.raises(Refused, match="corrected already"):
        look(belt, {}, corrects=wrong)


def test_an_inspection_does_not_correct_another_belt_s(belt, jack_belt, look):
    other = look(jack_belt, {})
    with pytest.raises(Refused, match="another belt's"):
        look(belt, {}, corrects=other)


def test_a_correction_of_a_signed_inspection_is_a_new_one_that_names_it(belt, look, next_visit):
    wrong = look(belt, TWO_MARKED)
    right = look(belt, {17: "marked"}, visit=next_visit(), corrects=wrong)
    assert right.corrects == wrong
    assert list(BeltInspection.objects.not_superseded()) == [right]
    assert wrong.conditions() == TWO_MARKED
