"""Belts held against published standards and worked examples."""

import math

import pytest

from machines.engineering.belt_drives import drive_geometry, pitch_length_mm
from machines.engineering.belt_tension import tension_from_deflection_n
from machines.engineering.belts import PROFILES

# ISO 5296:2012 codes and pitches as quoted by a distributor's glossary (pti-latam.com, iso-5296):
# inch pitches 0.08, 0.2, 0.375, 0.5, 0.875 and 1.25 in, at 25.4 mm to the inch exactly.
ISO_5296_IN = {"MXL": 0.08, "XL": 0.2, "L": 0.375, "H": 0.5, "XH": 0.875, "XXH": 1.25}


@pytest.mark.parametrize(("code", "inches"), ISO_5296_IN.items())
def test_inch_pitches_are_those_of_iso_5296(code, inches):
    assert PROFILES[code].pitch_mm == pytest.approx(inches * 25.4, abs=1e-9)


# ISO 13050:1999 clause 3, quoted by everyday-standards.com: six types, named by form and pitch.
@pytest.mark.parametrize("code", ["H8M", "S8M", "R8M", "H14M", "S14M", "R14M"])
def test_metric_pitches_are_those_of_iso_13050(code):
    assert PROFILES[code].pitch_mm == float(code[1:-1])
    assert "ISO 13050" in PROFILES[code].source


@pytest.mark.parametrize(
    ("belt", "pulleys", "pitch"), [(120, (20, 40), 5.0), (75, (15, 30), 5.08), (150, (28, 64), 8.0)]
)
def test_centre_distance_agrees_with_the_handbook_formula(belt, pulleys, pitch):
    # "Technical Timing" p. 771 (docshare.tips): C = K + sqrt(K^2 - (d2-d1)^2/8),
    # K = L/4 - 0.392699 (d1+d2). An approximation, so it agrees to a thousandth of a per cent.
    d1, d2 = (z * pitch / math.pi for z in pulleys)
    k = pitch_length_mm(belt, pitch) / 4 - 0.392699 * (d1 + d2)
    handbook = k + math.sqrt(k**2 - (d2 - d1) ** 2 / 8)
    assert drive_geometry(belt, pulleys, pitch).centre_distance_mm == pytest.approx(
        handbook, rel=1e-5
    )


def test_pressing_a_sixty_fourth_of_the_span_takes_a_sixteenth_of_the_tension():
    # SDP/SI D790 technical section T-3, equation 1-4 without the belt's own stiffness:
    # deflection force = T/16 at 1/64 in per inch of span.
    assert tension_from_deflection_n(10.0, 256 / 64, 256) == pytest.approx(160.0, rel=5e-4)
