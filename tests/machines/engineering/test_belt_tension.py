"""Belt tension from frequency and from deflection, and the verdict on it."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from machines.engineering.belt_tension import (
    span_frequency_hz,
    span_tension_n,
    tension_from_deflection_n,
    tension_verdict,
)


def test_a_span_that_rings_at_a_hundred_hertz():
    # 4 x 0.1 kg/m x (0.25 m)^2 x (100 Hz)^2, worked by hand.
    assert span_tension_n(0.1, 250, 100) == pytest.approx(250.0)


def test_ringing_twice_as_high_means_four_times_the_tension():
    assert span_tension_n(0.1, 250, 200) == pytest.approx(4 * span_tension_n(0.1, 250, 100))


@settings(max_examples=50)
@given(st.floats(0.005, 2), st.floats(20, 2000), st.floats(1, 5000))
def test_frequency_and_tension_are_each_others_inverse(mass, span, tension):
    frequency = span_frequency_hz(mass, span, tension)
    assert span_tension_n(mass, span, frequency) == pytest.approx(tension)


@settings(max_examples=50)
@given(st.floats(50, 2000), st.floats(0.001, 0.099), st.floats(1, 5000))
def test_force_and_deflection_balance_the_two_halves_of_the_span(span, part, tension):
    deflection = span * part
    half = ((span / 2) ** 2 + deflection**2) ** 0.5
    force = 2 * tension * deflection / half
    assert tension_from_deflection_n(force, deflection, span) == pytest.approx(tension)


@pytest.mark.parametrize(
    ("tension", "verdict", "sentence"),
    [
        (100, "within", "100 N, within the wanted 100 to 140 N."),
        (140, "within", "140 N, within the wanted 100 to 140 N."),
        (82, "outside", "82 N, too slack by 18 N; wanted 100 to 140 N."),
        (171, "outside", "171 N, too tight by 31 N; wanted 100 to 140 N."),
        (140.25, "outside", "140 N, too tight by 0.25 N; wanted 100 to 140 N."),
    ],
)
def test_tension_is_held_against_the_wanted_band(tension, verdict, sentence):
    result = tension_verdict(tension, 100, 140)
    assert (result.verdict, result.sentence) == (verdict, sentence)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: span_tension_n(0.1, 0, 50), "span length must be more than zero, not 0 mm"),
        (lambda: span_tension_n(0.1, 250, -50), "frequency must be more than zero, not -50 Hz"),
        (lambda: span_tension_n(0.1, 250, float("nan")), "frequency must be a finite number"),
        (lambda: span_tension_n("heavy", 250, 50), "mass per metre must be a number"),
        (lambda: span_frequency_hz(0.1, 250, 0), "tension must be more than zero"),
        (lambda: tension_from_deflection_n(10, 0, 250), "deflection must be more than zero"),
        (lambda: tension_from_deflection_n(10, 40, 250), "more than a tenth of the 250 mm span"),
        (lambda: tension_verdict(100, 140, 100), "upside down"),
    ],
)
def test_tension_input_that_makes_no_sense_is_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()
