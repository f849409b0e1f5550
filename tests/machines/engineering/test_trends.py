"""Whether incidents come more or less often."""

from itertools import permutations

import numpy as np
import pytest

from machines.engineering.trends import handbook_trend, laplace_trend, reverse_arrangements, trend

SLOWING = [5, 40, 43, 175, 389, 712, 747, 795, 1299, 1478]
QUICKENING = [600, 1000, 1250, 1350, 1420, 1460, 1490]


@pytest.mark.parametrize(
    ("incidents", "observed", "trend"),
    [(SLOWING, 1500, "rarer"), (QUICKENING, 1500, "more often"), ([400, 800], 1200, None)],
)
def test_the_trend_is_named_only_when_it_is_clear(incidents, observed, trend):
    assert handbook_trend(incidents, observed).trend == (trend or "no clear trend")


def test_a_trend_is_told_with_its_chance_of_a_false_alarm():
    assert trend(SLOWING, 1500).sentence == (
        "They come less often, by 10 incidents. Without any trend at most 5 machines in 100 show "
        "this much."
    )
    assert trend(QUICKENING, 1500).direction == "more often"


@pytest.mark.parametrize("incidents", [[], [1400], [1300, 1490], [1300, 1400, 1490]])
def test_three_incidents_or_fewer_show_no_trend_wherever_they_lie(incidents):
    found = trend(incidents, 1500)
    words = "incident" if len(incidents) == 1 else "incidents"
    assert found.sentence == f"No trend to be seen in {len(incidents)} {words}."


def test_one_bunch_late_in_the_record_is_no_trend():
    # The tests that take incidents to come singly would tell one.
    bunch = [1300, 1310, 1330, 1332, 1340, 1380]
    assert handbook_trend(bunch, 1500).trend == "more often"
    assert trend(bunch, 1500).direction == ""


def test_laplace_is_exact_for_few_incidents():
    # The mean of two even chances lies above 0.9 with 2 · 0.1² = 0.02.
    assert laplace_trend([800, 1000], 1000).p_more_often == pytest.approx(0.02)
    assert laplace_trend([300], 1000).p_rarer == pytest.approx(0.3)


def test_laplace_goes_over_smoothly_to_the_normal_approximation():
    twelve = 1000 * np.random.default_rng(2).random(12) ** 0.7
    thirteen = [*twelve, 500]
    exact, approximate = laplace_trend(twelve, 1000), laplace_trend(thirteen, 1000)
    assert approximate.p_more_often == pytest.approx(exact.p_more_often, abs=0.01)


def test_gaps_of_one_length_speak_for_neither_side():
    even = reverse_arrangements([100, 200, 300, 400, 500])
    assert (even.p_rarer, even.p_more_often) == pytest.approx((1, 1))


def test_reverse_arrangements_agree_with_trying_every_order():
    gaps = [5, 35, 3, 132, 214, 36]
    found = reverse_arrangements(np.cumsum(gaps))

    def count(order):
        return sum(later > earlier for i, earlier in enumerate(order) for later in order[i:])

    orders = [count(order) for order in permutations(gaps)]
    assert found.statistic == count(gaps)
    assert found.p_rarer == pytest.approx(np.mean([c >= found.statistic for c in orders]))
    assert found.p_more_often == pytest.approx(np.mean([c <= found.statistic for c in orders]))


def test_the_normal_approximation_takes_over_smoothly():
    gaps = np.random.default_rng(5).exponential(100, 51)
    exact = reverse_arrangements(np.cumsum(gaps[:50]))
    approximate = reverse_arrangements(np.cumsum(gaps))
    assert approximate.p_rarer == pytest.approx(exact.p_rarer, abs=0.1)
    assert approximate.p_rarer + approximate.p_more_often == pytest.approx(1, abs=0.02)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: handbook_trend([], 1500), "At least 1 incident is needed, not 0"),
        (lambda: laplace_trend([], 1500), "At least 1 incident is needed, not 0"),
        (lambda: reverse_arrangements([10, 20]), "at least three incidents"),
        (lambda: trend([1600], 1500), "lies after the end of observation"),
    ],
)
def test_records_that_show_no_trend_are_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()
