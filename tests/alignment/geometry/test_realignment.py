"""A guide bushing housing from as found to as left, by the numbers alone.

A housing that was knocked over and aside is simulated as a round bore about a straight axis. The
plan is carried out on that model, not on the plan's own forecast, and swept again. The indicator
looks away from a headstock at the operator's left: right is front, further is away.
"""

from dataclasses import dataclass

import numpy as np
import pytest

from alignment.geometry.adjust.dial import compare_with_plan
from alignment.geometry.adjust.move import FreeShift, Place
from alignment.geometry.adjust.screws import JackScrews
from alignment.geometry.measure.axis import fit_axis
from alignment.geometry.measure.sweep import fit_sweep, predicted_readings
from alignment.geometry.measure.verdict import Verdict, coverage_factor, decide

EIGHT = list(range(0, 360, 45))
NEAR, FAR = 0.0, 60.0
TOLERANCE = 8.0
SCREWS = JackScrews(45, (0, 120, 240), 1.0, plane_mm=-20.0)


class Housing:
    """A bore whose axis passes ``offset`` at z = 0 with ``slope`` (µm per 100 mm)."""

    def __init__(self, offset, slope, seed):
        self.offset, self.slope = np.array(offset, float), np.array(slope, float)
        self.noise = np.random.default_rng(seed)

    def sweep(self, z):
        centre = self.offset + self.slope * z / 100
        readings = predicted_readings(*centre, EIGHT) + self.noise.normal(0, 0.5, 8)
        return fit_sweep(EIGHT, np.round(readings, 1), reading_u_um=0.6)

    def axis(self):
        return fit_axis([NEAR, FAR], [self.sweep(NEAR), self.sweep(FAR)])

    def turn(self, screws, steps):
        """Tilt the body by what its face rises at the screws, about their plane."""
        theta = np.radians([step.angle_deg for step in steps])
        rise = [step.turn_deg / 360 * screws.pitch_mm * 1000 for step in steps]
        plane = np.column_stack([np.ones(len(theta)), np.sin(theta), np.cos(theta)])
        tilt = np.linalg.solve(plane, rise)[1:] / screws.radius_mm * 100
        self.slope += tilt
        self.offset += tilt * (NEAR - screws.plane_mm) / 100

    def shift(self, step):
        self.offset += [step.front_um, step.up_um]


def place_of(axis):
    at = axis.at(NEAR)
    slopes = axis.slope_right_um_per_100mm, axis.slope_up_um_per_100mm
    return Place(at.right_um, at.up_um, *slopes)


@dataclass
class Stood:
    """Where the bore stood by a sweep."""

    front_um: float
    up_um: float
    covariance_um2: np.ndarray
    dof_u: float


def stood(sweep):
    return Stood(sweep.right_um, sweep.up_um, sweep.covariance_um2, sweep.dof_u)


@pytest.fixture(scope="module")
def story():
    housing = Housing(offset=(85, -40), slope=(60, 35), seed=2)
    found = housing.axis()
    tilt = SCREWS.plan(place_of(found))
    housing.turn(SCREWS, tilt.steps)
    levelled = housing.axis()
    shift = FreeShift().plan(place_of(levelled))
    before = housing.sweep(NEAR)
    housing.shift(shift.steps[0])
    return found, tilt, levelled, shift, before, housing.sweep(NEAR), housing.axis()


def test_as_found_the_bore_is_outside(story):
    at = story[0].at(NEAR)
    assert decide(at.offset_um, at.u_offset_um, TOLERANCE) is Verdict.OUTSIDE


def test_the_screws_bring_the_axis_level_as_foretold(story):
    _, tilt, levelled, *_ = story
    assert np.hypot(*levelled.parameters[2:]) < 4
    assert levelled.at(NEAR).right_um == pytest.approx(tilt.after.front_um, abs=2)
    assert levelled.at(NEAR).up_um == pytest.approx(tilt.after.up_um, abs=2)


def test_the_shift_comes_out_as_foretold(story):
    shift, before, after = story[3], story[4], story[5]
    foretold = Place(shift.after.front_um, shift.after.up_um)
    assert compare_with_plan(stood(before), foretold, stood(after)).agrees


def test_as_left_the_bore_is_within_at_both_ends(story):
    left = story[6]
    for z in (NEAR, FAR):
        at = left.at(z)
        k = coverage_factor(at.dof_u)
        assert decide(at.offset_um, at.u_offset_um, TOLERANCE, k=k) is Verdict.WITHIN
