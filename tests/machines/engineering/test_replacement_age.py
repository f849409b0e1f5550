"""When to replace: age replacement, held against direct minimisation."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import minimize_scalar

from machines.engineering.life import fit_weibull, mean_life_h
from machines.engineering.replacement_age import age_cost_per_h, best_age_h, replacement_age

WEARING = fit_weibull([1450, 1900, 2300, 2350, 2800, 3100, 2050, 2600], [900, 1500])
SCATTERED = fit_weibull([200, 900, 1500, 2600], [800, 3000])


def cost_by_integration(age, shape, scale, planned, breakdown):
    def survival(t):
        return math.exp(-((t / scale) ** shape))

    lived, _ = quad(survival, 0, age, epsabs=1e-10)
    return (planned * survival(age) + breakdown * (1 - survival(age))) / lived


@pytest.mark.parametrize("age", [100, 700, 2500])
def test_cost_per_hour_agrees_with_plain_integration(age):
    expected = cost_by_integration(age, 2.2, 1800, 180, 1400)
    assert age_cost_per_h(age, 2.2, 1800, 180, 1400) == pytest.approx(expected)


@pytest.mark.parametrize(
    ("shape", "planned", "breakdown"), [(1.5, 1, 20), (2.5, 1, 5), (2.5, 3, 5), (8, 1, 2)]
)
def test_the_best_age_agrees_with_direct_minimisation(shape, planned, breakdown):
    found = minimize_scalar(
        lambda age: cost_by_integration(age, shape, 1000, planned, breakdown),
        bounds=(1, 3000),
        method="bounded",
        options={"xatol": 1e-6},
    )
    assert best_age_h(shape, 1000, planned, breakdown) == pytest.approx(found.x, rel=1e-3)


@settings(max_examples=40)
@given(st.floats(1.3, 6), st.floats(1.5, 50), st.floats(0.5, 2))
def test_no_other_age_costs_less(shape, ratio, elsewhere):
    age = best_age_h(shape, 1000, 1, ratio)
    if math.isfinite(age):
        best = age_cost_per_h(age, shape, 1000, 1, ratio)
        assert age_cost_per_h(age * elsewhere, shape, 1000, 1, ratio) >= best * (1 - 1e-9)


@pytest.mark.parametrize(
    ("shape", "planned", "breakdown"), [(1.0, 1, 20), (0.7, 1, 20), (3, 5, 5), (3, 6, 5)]
)
def test_replacing_early_never_pays_without_wear_or_without_a_dearer_breakdown(
    shape, planned, breakdown
):
    assert best_age_h(shape, 1000, planned, breakdown) == math.inf


def test_many_lives_at_once_give_what_each_gives_alone():
    shapes, scales = np.array([0.8, 1.5, 3.0]), np.array([900, 1000, 1100])
    together = best_age_h(shapes, scales, 1, 10)
    assert list(together) == [best_age_h(*life, 1, 10) for life in zip(shapes, scales, strict=True)]


def test_a_belt_that_wears_is_replaced_early_and_the_saving_is_told():
    advice = replacement_age(WEARING, 180, 1400)
    shape = WEARING.middle_of(lambda shape, _: shape)
    scale_h = WEARING.middle_of(lambda _, scale_h: scale_h)
    assert advice.age_h == best_age_h(shape, scale_h, 180, 1400)
    assert 0 < advice.saving_bounds[0] < advice.saving < advice.saving_bounds[1]
    assert advice.sentence.startswith(f"Replace at {advice.age_h:,.0f} h: costs ")
    assert "from 8 failures and 2 still running; prior: " in advice.sentence


def test_the_saving_is_against_running_to_failure():
    advice = replacement_age(WEARING, 180, 1400)
    cost = age_cost_per_h(advice.age_h, *WEARING.posterior, 180, 1400)
    savings = 1 - cost * mean_life_h(*WEARING.posterior) / 1400
    assert advice.saving == pytest.approx(np.median(savings))


def test_scattered_failures_carry_no_age_and_say_so():
    advice = replacement_age(SCATTERED, 180, 1400)
    assert advice.age_h is None
    assert advice.sentence.startswith("No replacement age yet: these records do not show")
    assert "saves anything (from 4 failures and 2 still running; prior" in advice.sentence


def test_a_saving_that_may_be_none_is_told_with_its_chance():
    advice = replacement_age(fit_weibull([900, 1500, 1800, 2600]), 180, 1400)
    assert advice.age_h is None
    assert advice.saving_bounds[0] < 0 < advice.saving_bounds[1]
    assert f"chance {100 * advice.chance:.0f} %, 97.5 % wanted; from 4 failures" in advice.sentence


def test_two_failures_carry_no_age_however_close_they_lie():
    assert replacement_age(fit_weibull([1000, 1001], [900] * 3), 1, 50).age_h is None


def test_equal_costs_carry_no_age():
    advice = replacement_age(WEARING, 180, 180)
    assert advice.age_h is None
    assert advice.saving == 0


def test_a_dearer_breakdown_calls_for_an_earlier_replacement():
    assert replacement_age(WEARING, 180, 5000).age_h < replacement_age(WEARING, 180, 900).age_h


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: replacement_age(WEARING, 0, 1400), "planned cost must be more than zero"),
        (lambda: replacement_age(WEARING, 180, -1), "breakdown cost must be more than zero"),
    ],
)
def test_costs_of_nothing_are_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()
