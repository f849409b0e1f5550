"""What the replacement rules say of belts, bearings and guide bushings."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from machines.drive.advice import advise
from machines.drive.ages import best_belt_age_h
from machines.drive.inspecting import inspect_belt
from machines.drive.lifetimes import TypeLives, type_of
from machines.drive.lives import Life
from machines.drive.models import Recommendation, Thresholds
from machines.drive.services import inspect_bearing, note_rebuild
from machines.drive.tension import Measured
from tests import factories

Urgency = Recommendation.Urgency


@pytest.fixture
def belt(machine):
    """A belt wanted between 100 and 144 N, which its span of 250 mm and 0.1 kg/m is 63 to 76 Hz."""
    belt = machine.belts.get(name="guide bushing belt")
    belt.span_mm, belt.mass_kg_per_m = Decimal("250"), Decimal("0.1")
    belt.tension_low_n, belt.tension_high_n = Decimal("100"), Decimal("144")
    belt.save()
    return belt


@pytest.fixture
def bearing(machine):
    return factories.BearingFactory(machine=machine, fitted_on=None)


def said(machine):
    """What the rules say, by rule."""
    return {advice.rule: advice for advice in advise(machine, None)}


def ran(machine, person, hours):
    """The meter counted `hours` over the last hundred days."""
    now = timezone.now()
    factories.metered(machine, person, {now - timedelta(days=100): 0, now: hours})
    return (now - timedelta(days=100)).date()


@pytest.mark.parametrize(("hertz", "words"), [("60", "too slack"), ("80", "too tight")])
def test_a_tension_outside_the_band_is_set(belt, operator, hertz, words):
    inspect_belt(
        belt=belt, made_by=operator, teeth={}, measured=Measured(frequency_hz=Decimal(hertz))
    )
    advice = said(belt.machine)["tension outside the band"]
    assert advice.what == "Set the tension of the guide bushing belt"
    assert words in advice.reason


def test_a_tension_within_the_band_says_nothing(belt, operator):
    measured = Measured(frequency_hz=Decimal("70"))
    inspect_belt(belt=belt, made_by=operator, teeth={}, measured=measured)
    assert said(belt.machine) == {}


def test_damage_that_grew_is_named_with_the_teeth(belt, operator):
    inspect_belt(belt=belt, made_by=operator, teeth={1: "marked"}, made_at=factories.at(3))
    inspect_belt(belt=belt, made_by=operator, teeth={1: "worn", 2: "marked"})
    (advice,) = advise(belt.machine, None)
    assert "damage that grew" in advice.rule
    assert "2 teeth were newly damaged or got worse since 3 Mar 2025" in advice.reason


def test_rules_that_agree_make_one_line(belt, operator):
    inspect_belt(belt=belt, made_by=operator, teeth={1: "marked"}, made_at=factories.at(3))
    inspect_belt(belt=belt, made_by=operator, teeth={1: "worn", 2: "cracked", 3: "worn"})
    (advice,) = advise(belt.machine, None)
    assert advice.urgency == Urgency.BEFORE_RUN
    assert advice.rule.count(",") == 2


def test_a_partner_goes_with_the_belt(belt, operator):
    belt.partner = belt.machine.belts.get(name="jack shaft belt")
    belt.save()
    inspect_belt(belt=belt, made_by=operator, teeth={5: "missing"})
    advice = said(belt.machine)["belt and its partner"]
    assert advice.belt == belt.partner
    assert advice.urgency == Urgency.BEFORE_RUN


def test_a_shop_may_ask_for_more_damaged_teeth(belt, operator):
    Thresholds.objects.create(shop=belt.machine.shop, damaged_teeth=3)
    inspect_belt(belt=belt, made_by=operator, teeth={1: "worn", 2: "worn"})
    assert said(belt.machine) == {}


def test_a_belt_past_the_shop_s_age_is_replaced_by_a_date(belt, operator):
    Thresholds.objects.create(shop=belt.machine.shop, belt_age_h=900)
    belt.fitted_on = ran(belt.machine, operator, 1000)
    belt.save()
    advice = said(belt.machine)["belt past its age"]
    assert "has run 1,000 h; this shop replaces belts at 900 h" in advice.reason
    assert advice.urgency == Urgency.BY_DATE


@pytest.mark.parametrize(
    ("velocity", "urgency", "hurts"),
    [("2.9", Urgency.THIS_VISIT, False), ("4.6", Urgency.BEFORE_RUN, True)],
)
def test_a_bearing_in_zone_c_or_d_is_replaced(bearing, operator, velocity, urgency, hurts):
    """ISO 10816-3 group 2, rigid, as others quote it: C from 2.8, D from 4.5 mm/s."""
    inspect_bearing(bearing=bearing, made_by=operator, velocity_mm_s=Decimal(velocity))
    advice = said(bearing.machine)["vibration zone C or D"]
    assert (advice.urgency, advice.safety_relevant) == (urgency, hurts)
    assert "ISO 10816-3" in advice.evidence[0][1]


def test_the_limits_are_the_shop_s_to_set(bearing, operator):
    Thresholds.objects.create(
        shop=bearing.machine.shop, zone_a_mm_s=1, zone_b_mm_s=3, zone_c_mm_s=6, zone_source="ours"
    )
    inspect_bearing(bearing=bearing, made_by=operator, velocity_mm_s=Decimal("2.9"))
    assert said(bearing.machine) == {}


@pytest.mark.parametrize("feel", ["gritty", "notchy", "loose"])
def test_a_rough_bearing_is_replaced(bearing, operator, feel):
    inspect_bearing(bearing=bearing, made_by=operator, feel=feel)
    assert said(bearing.machine)["rough feel"].bearing == bearing


def test_run_out_that_grew_by_more_than_the_shop_allows(bearing, operator):
    for day, runout in ((3, "2"), (5, "7.5")):
        inspect_bearing(
            bearing=bearing,
            made_by=operator,
            runout_um=Decimal(runout),
            made_at=factories.at(day),
        )
    assert "grown by 5.5 µm" in said(bearing.machine)["run-out that grew"].reason


@pytest.mark.parametrize(
    ("hours", "urgency"), [(13_400, Urgency.WATCH), (16_700, Urgency.THIS_VISIT)]
)
def test_a_used_up_rating_life_is_watched_then_replaced(machine, operator, hours, urgency):
    """1000 million turns at 1000 rpm are 16,667 h (ISO 281)."""
    since = ran(machine, operator, hours)
    factories.BearingFactory(machine=machine, load_n=960, speed_rpm=1000, fitted_on=since)
    assert said(machine)["life used up"].urgency == urgency


def test_advice_on_a_rating_life_keeps_the_caution_of_the_bearing_s_page(machine, operator):
    since = ran(machine, operator, 120)
    factories.BearingFactory(machine=machine, load_n=5000, speed_rpm=1000, fitted_on=since)
    reason = said(machine)["life used up"].reason
    assert "one bearing in ten fails" in reason
    assert "only a rough figure, ask the maker" in reason


def lived(belt, *hours):
    """Lives of belts of this type that broke after so many hours."""
    lives = tuple(Life(None, None, "broke", one, None) for one in hours)
    return {type_of(belt): TypeLives(type_of(belt), lives)}


def test_lives_of_belts_advise_nothing_until_the_record_carries_it(belt):
    thresholds = Thresholds.of(belt.machine.shop)
    assert best_belt_age_h(belt, thresholds, lived(belt, 1000, 1010)) == (None, "")
    assert best_belt_age_h(belt, thresholds, lived(belt, 300, 800, 2000, 2600, 900)) == (None, "")
    many = lived(belt, 1450, 1900, 2300, 2350, 2800, 2100, 2050, 2600)
    limit, why = best_belt_age_h(belt, thresholds, many)
    assert 500 < limit < 1900
    assert "from 8 failures and 0 still running; prior: " in why


def test_a_guide_bushing_past_its_hours_is_renewed(machine, owner):
    since = ran(machine, owner, 2500)
    housing = factories.AssemblyFactory(machine=machine, renew_after_h=2000)
    note_rebuild(
        assembly=housing,
        made_by=owner,
        rebuilt_on=since,
        who="Ida",
        fitted="a new bushing",
        new_bushing=True,
        feel_before="worn",
        feel_after="smooth",
    )
    assert "2,500 of 2,000 h" in said(machine)["guide bushing overdue"].reason


def test_one_look_reads_the_shop_s_thresholds_once(belt, operator, django_assert_max_num_queries):
    with django_assert_max_num_queries(36) as asked:
        inspect_belt(belt=belt, made_by=operator, teeth={1: "marked", 2: "worn"})
    told = [query["sql"] for query in asked.captured_queries]
    assert sum('FROM "machines_thresholds"' in sql for sql in told) == 1


def test_a_threshold_changed_between_two_looks_holds_from_the_second(belt, operator):
    """What is kept while the rules are asked is not kept until they are asked again."""
    inspect_belt(belt=belt, made_by=operator, teeth={1: "marked"})
    assert said(belt.machine) == {}
    Thresholds.objects.create(shop=belt.machine.shop, damaged_teeth=1)
    assert "damaged or worn teeth" in said(belt.machine)
