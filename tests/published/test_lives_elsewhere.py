"""Censored lives and repairs held against published samples and a public reference library."""

import numpy as np
import pytest

from machines.engineering.life import fit_weibull
from machines.engineering.repair_rates import (
    grouped_power_law,
    mises_limit,
    mises_statistic,
    power_law,
)
from machines.engineering.replacement_age import age_cost_per_h, best_age_h


@pytest.fixture(scope="module")
def library():
    """The library 'reliability' of the Python registry (0.9.0), its drawings switched off."""
    matplotlib = pytest.importorskip("matplotlib")
    matplotlib.use("Agg")
    pytest.importorskip("reliability")
    from reliability import Datasets, Fitters, Repairable_systems

    class Library:
        datasets, repairs = Datasets, Repairable_systems

        @staticmethod
        def weibull(failed, running):
            return Fitters.Fit_Weibull_2P(
                failures=failed,
                right_censored=running or None,
                show_probability_plot=False,
                print_results=False,
            )

    return Library


# Weeks of remission, 9 ended and 12 going on: a sample of Freireich and others (1963) that Gehan
# (1965) and many textbooks use; typed from memory.
REMISSIONS = [6, 6, 6, 7, 10, 13, 16, 22, 23]
GOING_ON = [6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35]


def test_the_remission_sample_has_the_textbooks_life():
    # Shape 1.354 and scale 33.77 weeks as textbooks print them, from memory.
    fit = fit_weibull(REMISSIONS, GOING_ON)
    assert (fit.shape, fit.scale_h) == pytest.approx((1.354, 33.77), abs=0.006)


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("sample", ["remissions", "automotive"])
def test_the_library_finds_the_same_life(library, sample):
    # 'automotive' comes with the library: 10 failures and 24 still running, in miles.
    if sample == "remissions":
        failed, running = REMISSIONS, GOING_ON
    else:
        data = library.datasets.automotive()
        failed, running = data.failures, data.right_censored
    theirs, ours = library.weibull(failed, running), fit_weibull(failed, running)
    assert ours.shape == pytest.approx(theirs.beta, rel=1e-4)
    assert ours.scale_h == pytest.approx(theirs.alpha, rel=1e-4)
    assert ours.log_likelihood == pytest.approx(theirs.loglik, abs=1e-5)


@pytest.mark.filterwarnings("ignore")
def test_bounds_of_many_failures_agree_with_the_librarys(library):
    # Theirs are symmetric in ln (Fisher matrix): with many failures prior and lop-sidedness fade.
    ages = 1000 * np.random.default_rng(1).weibull(2, 400)
    theirs, ours = library.weibull(list(ages), []), fit_weibull(ages, confidence=0.95)
    assert ours.shape_bounds == pytest.approx((theirs.beta_lower, theirs.beta_upper), rel=0.01)
    assert ours.scale_bounds_h == pytest.approx((theirs.alpha_lower, theirs.alpha_upper), rel=0.01)


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize(("shape", "planned", "breakdown"), [(2.5, 1, 5), (1.6, 100, 2000)])
def test_the_library_replaces_at_the_same_age(library, shape, planned, breakdown):
    theirs = library.repairs.optimal_replacement_time(
        cost_PM=planned,
        cost_CM=breakdown,
        weibull_alpha=1000,
        weibull_beta=shape,
        q=0,
        show_time_plot=False,
        show_ratio_plot=False,
        print_results=False,
    )
    age = best_age_h(shape, 1000, planned, breakdown)
    assert age == pytest.approx(theirs.ORT, rel=0.005)
    cost = age_cost_per_h(age, shape, 1000, planned, breakdown)
    assert cost == pytest.approx(theirs.min_cost, rel=1e-3)


@pytest.mark.filterwarnings("ignore")
def test_the_library_finds_the_same_growth(library):
    # Both observed to the last failure. Theirs is plain maximum likelihood, n/Σln(T/t); ours is
    # (n − 1)/n of that.
    times = library.datasets.system_growth().failures
    theirs = library.repairs.reliability_growth(
        times=times, model="Crow-AMSAA", print_results=False, show_plot=False
    )
    ours = power_law(times, max(times)).exponent
    assert ours * len(times) / (len(times) - 1) == pytest.approx(theirs.Beta, rel=1e-6)


def test_the_handbooks_grouped_repairs():
    # MIL-HDBK-189, grouped data: 13, 16, 5, 8 and 7 failures in groups of 20 h; the figures as a
    # public test file quotes them (exponent 0.75285, factor 1.5293, MTBF at the end 2.7108 h).
    found = grouped_power_law([20, 40, 60, 80, 100], [13, 16, 5, 8, 7])
    assert found.exponent == pytest.approx(0.75285088677, rel=1e-6)
    assert found.factor == pytest.approx(1.5293056974, rel=1e-6)
    assert found.mtbf_h == pytest.approx(2.71078425, rel=1e-6)
    assert found.fits


@pytest.mark.parametrize("incidents", [2, 5, 10, 30])
def test_the_handbooks_limits_are_passed_by_one_true_power_law_in_twenty(incidents):
    # The table of MIL-HDBK-189 for Cramér–von Mises, as quoted in public program text. What a
    # power law puts in is even chances raised to 1/b, and the statistic is the same for every b.
    rng = np.random.default_rng(incidents)
    beyond = [
        mises_statistic(1000 * np.sort(rng.random(incidents)), 1000) > mises_limit(incidents)
        for _ in range(3000)
    ]
    assert np.mean(beyond) == pytest.approx(0.05, abs=0.013)
