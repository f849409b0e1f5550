"""Vibration zones and run-out growth."""

import pytest

from machines.engineering.bearing_condition import (
    DEFAULT_LIMITS,
    ZONE_LIMITS,
    ZoneLimits,
    runout_growth,
    vibration_zone,
)

OWN = ZoneLimits(1.0, 2.0, 4.0, "the shop's own")


@pytest.mark.parametrize(
    ("velocity", "zone"),
    [(0, "A"), (1.0, "A"), (1.01, "B"), (2.0, "B"), (2.01, "C"), (4.0, "C"), (4.01, "D")],
)
def test_a_velocity_on_a_limit_stays_in_the_better_zone(velocity, zone):
    assert vibration_zone(velocity, OWN).zone == zone


def test_the_sentence_says_whose_limits_were_used():
    assert "the shop's own" in vibration_zone(3.0, OWN).sentence


def test_the_default_limits_say_where_they_come_from():
    assert "group 2, rigid support" in DEFAULT_LIMITS.source
    assert "was not seen" in DEFAULT_LIMITS.source


def test_the_same_velocity_is_worse_on_a_small_machine_than_on_a_flexible_base():
    zones = {name: vibration_zone(2.0, limits).zone for name, limits in ZONE_LIMITS.items()}
    assert zones == {"group 2, rigid": "B", "group 2, flexible": "A", "class I": "C"}


def test_runout_growth_since_the_first_and_the_last_visit():
    growth = runout_growth([(1000, 3.0), (1500, 4.0), (2000, 7.0)])
    assert growth.growth_um == pytest.approx(4.0)
    assert growth.since_last_um == pytest.approx(3.0)


def test_one_bad_reading_does_not_bend_the_rate():
    steady = [(h, 2 + h / 1000) for h in range(0, 8000, 1000)]
    steady[3] = (3000, 60.0)
    assert runout_growth(steady).um_per_1000_h == pytest.approx(1.0)


def test_two_readings_at_the_same_hours_have_no_rate():
    assert runout_growth([(1000, 3.0), (1000, 4.0)]).um_per_1000_h is None


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: vibration_zone(-1), "vibration velocity cannot be negative"),
        (lambda: ZoneLimits(2.8, 1.4, 4.5, "typed"), "must rise from A to C"),
        (lambda: ZoneLimits(0, 1.4, 4.5, "typed"), "limit of zone A must be more than zero"),
        (lambda: runout_growth([(1000, 3.0)]), "at least two"),
        (lambda: runout_growth([(1000, 3.0), (900, 4.0)]), "must not go down"),
        (lambda: runout_growth([(1000, -3.0), (1100, 4.0)]), "run-out cannot be negative"),
    ],
)
def test_condition_input_that_makes_no_sense_is_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()
