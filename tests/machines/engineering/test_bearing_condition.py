"""Vibration zones and run-out growth."""

import pytest

from machines.engineering.bearing_condition import (
    DEFAULT_LIMITS,
    ZONE_LIMITS,
    ZoneLimits,
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


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: vibration_zone(-1), "vibration velocity cannot be negative"),
        (lambda: ZoneLimits(2.8, 1.4, 4.5, "typed"), "must rise from A to C"),
        (lambda: ZoneLimits(0, 1.4, 4.5, "typed"), "limit of zone A must be more than zero"),
    ],
)
def test_condition_input_that_makes_no_sense_is_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()
