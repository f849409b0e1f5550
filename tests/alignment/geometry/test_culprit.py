"""Which station moved, when several readings went bad."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from alignment.geometry.adjust.culprit import Deviation, explain_bad_chain

CHAIN = {
    "headstock spindle": None,
    "guide bushing housing": "headstock spindle",
    "sub-spindle": "guide bushing housing",
    "back tool station": "sub-spindle",
    "gang tool slide": "guide bushing housing",
}
U = np.eye(2)


def _read(tolerance=10.0, **moves):
    """The deviations read when stations alone move: off by their move less their datum's."""
    names = {name.replace(" ", "_").replace("-", "_"): name for name in CHAIN}
    moved = dict.fromkeys(CHAIN, np.zeros(2)) | {
        names[key]: np.array(move, dtype=float) for key, move in moves.items()
    }
    return {
        name: Deviation(*(moved[name] - moved[datum]), U, tolerance)
        for name, datum in CHAIN.items()
        if datum
    }


def test_a_bushing_housing_that_moved_explains_all_that_is_measured_from_it():
    best = explain_bad_chain(CHAIN, _read(guide_bushing_housing=(40, 0)))[0]
    assert best.station == "guide bushing housing"
    assert (best.front_um, best.up_um) == pytest.approx((40, 0))
    assert best.explains == ("guide bushing housing", "sub-spindle", "gang tool slide")
    assert best.leaves == ()
    assert best.explained == pytest.approx(1)


def test_the_sentence_clears_what_never_moved():
    chain = {k: v for k, v in CHAIN.items() if k != "gang tool slide"}
    readings = _read(guide_bushing_housing=(40, 0))
    del readings["gang tool slide"]
    assert explain_bad_chain(chain, readings)[0].sentence == (
        "Measured from the headstock spindle, the sub-spindle is fine: "
        "the guide bushing housing moved."
    )


def test_the_last_station_of_a_chain_explains_only_itself():
    best = explain_bad_chain(CHAIN, _read(back_tool_station=(0, -30)))[0]
    assert (best.station, best.explains) == ("back tool station", ("back tool station",))
    assert best.sentence == "Only the back tool station reads off: the back tool station moved."


def test_a_sub_spindle_that_took_its_tools_along_is_told_from_one_that_moved_alone():
    both = _read(sub_spindle=(30, 0), back_tool_station=(30, 0))
    best = explain_bad_chain(CHAIN, both)[0]
    assert (best.station, best.with_all_beyond) == ("sub-spindle", True)
    alone = explain_bad_chain(CHAIN, _read(sub_spindle=(30, 0)))[0]
    assert (alone.station, alone.with_all_beyond) == ("sub-spindle", False)


def test_the_headstock_is_blamed_last():
    ranked = explain_bad_chain(CHAIN, _read(headstock_spindle=(30, 0)))
    assert [(c.station, c.with_all_beyond) for c in ranked[:2]] == [
        ("guide bushing housing", True),
        ("headstock spindle", False),
    ]
    assert ranked[0].sentence.endswith("or the headstock spindle moved.")


def test_a_second_move_is_left_unexplained_and_named():
    moves = {"guide_bushing_housing": (40, 0), "back_tool_station": (0, 30)}
    best = explain_bad_chain(CHAIN, _read(**moves))[0]
    assert (best.station, best.leaves) == ("guide bushing housing", ("back tool station",))
    assert best.sentence.endswith("That leaves the back tool station unexplained.")


def test_ordinary_drift_within_tolerance_blames_nobody():
    assert explain_bad_chain(CHAIN, _read(guide_bushing_housing=(8, 0))) == ()


def test_without_tolerances_the_uncertainty_says_what_is_bad():
    assert explain_bad_chain(CHAIN, _read(tolerance=None, sub_spindle=(2, 0))) == ()
    best = explain_bad_chain(CHAIN, _read(tolerance=None, sub_spindle=(4, 0)))[0]
    assert best.station == "sub-spindle"


def test_the_move_is_surer_from_several_readings_than_from_one():
    best = explain_bad_chain(CHAIN, _read(tolerance=None, guide_bushing_housing=(40, 0)))[0]
    assert best.covariance_um2 == pytest.approx(np.eye(2) / 3)


def test_a_reading_of_unknown_uncertainty_counts_by_its_tolerance():
    unknown = np.diag([np.inf, np.inf])
    readings = {"sub-spindle": Deviation(30, 0, unknown, 10.0)}
    assert explain_bad_chain(CHAIN, readings)[0].station == "sub-spindle"
    assert explain_bad_chain(CHAIN, {"sub-spindle": Deviation(30, 0, unknown)}) == ()


@pytest.mark.parametrize(
    ("readings", "reason"),
    [
        ({"turret": Deviation(1, 1, U)}, "turret is not measured"),
        ({"headstock spindle": Deviation(1, 1, U)}, "headstock spindle is not measured"),
        ({"sub-spindle": Deviation(float("nan"), 1, U)}, "finite"),
        ({"sub-spindle": Deviation(1, 1, U, 0.0)}, "above zero"),
    ],
)
def test_deviations_that_make_no_sense_are_refused(readings, reason):
    with pytest.raises(ValueError, match=reason):
        explain_bad_chain(CHAIN, readings)


@given(
    st.sampled_from(["guide_bushing_housing", "sub_spindle", "back_tool_station"]),
    st.floats(0, 2 * np.pi),
    st.floats(20, 400),
)
@settings(max_examples=60, deadline=None)
def test_whichever_station_moves_alone_is_found_with_its_move(name, direction, size):
    move = (size * np.sin(direction), size * np.cos(direction))
    best = explain_bad_chain(CHAIN, _read(**{name: move}))[0]
    assert best.station.replace(" ", "_").replace("-", "_") == name
    assert (best.front_um, best.up_um) == pytest.approx(move, abs=1e-6)
