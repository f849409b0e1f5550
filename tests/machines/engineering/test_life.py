"""Lives of parts from failures and from units still running."""

import numpy as np
import pytest
from scipy.stats import CensoredData, weibull_min

from machines.engineering.life import fit_weibull, mean_life_h

BELTS = ([1450, 1900, 2300, 2350, 2800, 3100], [900, 1500, 2000, 3200])


def test_the_fit_lies_on_top_of_the_likelihood():
    fit = fit_weibull(*BELTS)

    def log_likelihood(shape, scale):
        failed, running = map(np.array, BELTS)
        return (
            weibull_min.logpdf(failed, shape, scale=scale).sum()
            + weibull_min.logsf(running, shape, scale=scale).sum()
        )

    best = log_likelihood(fit.shape, fit.scale_h)
    assert fit.log_likelihood == pytest.approx(best)
    for shape, scale in [(1.01, 1), (0.99, 1), (1, 1.01), (1, 0.99)]:
        assert log_likelihood(fit.shape * shape, fit.scale_h * scale) < best


def test_without_running_units_scipy_finds_the_same_life():
    ages = BELTS[0]
    shape, _, scale = weibull_min.fit(ages, floc=0)
    fit = fit_weibull(ages)
    assert fit.shape == pytest.approx(shape, rel=1e-3)
    assert fit.scale_h == pytest.approx(scale, rel=1e-3)


def test_scipy_agrees_on_censored_ages():
    failed, running = BELTS
    data = CensoredData(uncensored=failed, right=running)
    shape, _, scale = weibull_min.fit(data, floc=0)
    fit = fit_weibull(failed, running)
    assert fit.shape == pytest.approx(shape, rel=1e-3)
    assert fit.scale_h == pytest.approx(scale, rel=1e-3)


def test_units_still_running_lengthen_the_life():
    longer, shorter = fit_weibull(*BELTS), fit_weibull(BELTS[0])
    assert longer.middle_of(mean_life_h) > shorter.middle_of(mean_life_h)


def test_the_unit_of_time_does_not_change_the_shape():
    in_minutes = fit_weibull([60 * h for h in BELTS[0]], [60 * h for h in BELTS[1]])
    fit = fit_weibull(*BELTS)
    assert in_minutes.shape == pytest.approx(fit.shape)
    assert in_minutes.mean_bounds_h == pytest.approx([60 * h for h in fit.mean_bounds_h])


def test_bounds_agree_with_plain_integration_of_likelihood_times_prior():
    # Over a fine grid of ln(shape) and ln(scale): the prior is even in ln(scale) and normal in
    # ln(shape) about ln(1.3) with a spread of 1.
    fit = fit_weibull(*BELTS)
    failed, running = (np.array(ages)[:, None, None] for ages in BELTS)
    log_shape, log_scale = np.linspace(-3, 3, 500), np.linspace(6.5, 10, 600)
    shape, scale = np.exp(log_shape)[:, None], np.exp(log_scale)[None, :]
    log_density = (
        weibull_min.logpdf(failed, shape, scale=scale).sum(0)
        + weibull_min.logsf(running, shape, scale=scale).sum(0)
        - (log_shape[:, None] - np.log(1.3)) ** 2 / 2
    )
    by_shape = np.exp(log_density - log_density.max()).sum(1).cumsum()
    bounds = np.exp(np.interp([0.05, 0.95], by_shape / by_shape[-1], log_shape))
    assert fit.shape_bounds == pytest.approx(tuple(bounds), rel=0.02)


def test_two_failures_give_a_wide_interval_and_say_what_it_rests_on():
    few, many = fit_weibull([1000, 2000]), fit_weibull([1000, 2000] * 6)
    assert few.mean_bounds_h[1] / few.mean_bounds_h[0] > 4
    assert many.mean_bounds_h[1] / many.mean_bounds_h[0] < 1.7
    assert "from 2 failures and 0 still running; prior: two shapes in three between" in few.sentence


@pytest.mark.parametrize("failed", [[1000, 2000], [1000, 1001], [3, 1000], BELTS[0]])
def test_what_is_told_lies_within_its_own_bounds(failed):
    fit = fit_weibull(failed, [900, 1000])
    for figure in (lambda shape, _: shape, lambda _, scale: scale, mean_life_h):
        low, high = fit.bounds_of(figure)
        assert low < fit.middle_of(figure) < high


def test_two_failures_however_close_do_not_show_wear():
    assert fit_weibull([1000, 1001]).ageing == "not clear whether it wears out"


def test_a_life_no_record_can_show_is_not_printed_as_a_number():
    fit = fit_weibull([3, 1000], [2000] * 500)
    assert "to over 1,000,000 h" in fit.sentence


@pytest.mark.parametrize(
    ("ages", "ageing"),
    [
        ([1900, 2000, 2050, 2100, 2200, 2000, 2150], "wears out"),
        ([5, 20, 90, 300, 1500, 6000, 12, 1, 40, 2500], "fails early"),
        ([200, 900, 1500, 2600], "not clear whether it wears out"),
    ],
)
def test_wear_is_called_wear_only_when_the_interval_says_so(ages, ageing):
    assert fit_weibull(ages).ageing == ageing


def test_failures_at_one_age_are_fitted_when_a_unit_ran_longer():
    assert fit_weibull([100, 100], [200]).scale_h > 100


@pytest.mark.parametrize(
    ("failed", "running", "message"),
    [
        ([], [500], "The one unit has not failed, so there is no life to fit yet"),
        ([], [500, 700], "None of the 2 units has failed, so there is no life to fit yet"),
        ([], [], "None of the 0 units"),
        ([500], [700], "One failure alone gives no life"),
        ([500, 500], [400], "All 2 failures happened at 500 h"),
        ([500, 0], [], "age at failure must be more than zero"),
        ([500, 600], [-1], "age of a running unit must be more than zero"),
    ],
)
def test_records_too_thin_for_a_life_are_refused_in_plain_words(failed, running, message):
    with pytest.raises(ValueError, match=message):
        fit_weibull(failed, running)
