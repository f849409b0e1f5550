"""Lists of teeth as people type them, such as '12 damaged, 13-15 worn'."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from machines.drive.tooth_lists import DAMAGE, format_tooth_list, parse_tooth_list, summary_sentence

BELT = 96

READ = [
    ("", {}),
    ("  \n ", {}),
    ("12 damaged", {12: "marked"}),
    ("12 damaged, 13-15 worn", {12: "marked", 13: "worn", 14: "worn", 15: "worn"}),
    ("12 DAMAGED; 40 cracked\n41 missing", {12: "marked", 40: "cracked", 41: "missing"}),
    ("12, 14 and 17 damaged", {12: "marked", 14: "marked", 17: "marked"}),
    ("12 marked", {12: "marked"}),
    ("teeth 3 to 5: worn", {3: "worn", 4: "worn", 5: "worn"}),
    ("3–5 worn", {3: "worn", 4: "worn", 5: "worn"}),
    ("95-2 worn", {95: "worn", 96: "worn", 1: "worn", 2: "worn"}),
    ("12 damaged, 12 damaged", {12: "marked"}),
    ("12 sound, 13 worn", {13: "worn"}),
    ("1-96 worn", dict.fromkeys(range(1, 97), "worn")),
]

REFUSED = [
    ("97 damaged", "no tooth 97 on a belt with teeth 1 to 96"),
    ("0 worn", "no tooth 0"),
    ("90-97 worn", "no tooth 97"),
    ("12", "What is tooth 12"),
    ("12 damaged, 14", "What is tooth 14"),
    ("damaged", "“damaged” has no tooth before it"),
    ("12 damaged, worn", "“worn” has no tooth before it"),
    ("12 fried", "“fried” is no condition of a tooth; expected damaged, worn, cracked or missing"),
    ("12 damaged, 10-14 worn", "Tooth 12 stands twice: damaged and worn"),
    ("12.5 worn", "“.5 worn” cannot be read"),
    ("-5 worn", "“-5 worn” cannot be read"),
    ("12-13-15 worn", "cannot be read"),
    ("15-13 worn", "write 13-15 for the teeth in between"),
    ("9" * 5000 + " worn", "is no number of a tooth"),
]


@pytest.mark.parametrize(("text", "teeth"), READ)
def test_a_list_is_read_as_it_was_meant(text, teeth):
    assert parse_tooth_list(text, BELT) == teeth


@pytest.mark.parametrize(("text", "reason"), REFUSED)
def test_what_cannot_be_meant_is_refused_with_its_reason(text, reason):
    with pytest.raises(ValueError, match=reason):
        parse_tooth_list(text, BELT)


def test_neighbours_of_one_condition_are_written_as_a_run():
    teeth = {15: "worn", 12: "marked", 13: "worn", 14: "worn", 17: "worn", 20: "sound"}
    assert format_tooth_list(teeth) == "12 damaged, 13-15 worn, 17 worn"


@given(st.dictionaries(st.integers(1, BELT), st.sampled_from(DAMAGE), max_size=BELT))
def test_a_list_that_was_written_is_read_back_as_it_was(teeth):
    assert parse_tooth_list(format_tooth_list(teeth), BELT) == teeth


def test_a_belt_is_summed_up_with_its_damaged_teeth_named():
    said = summary_sentence(60, {12: "worn", 13: "worn", 40: "marked"})
    assert said == "3 of 60 teeth not sound: 12-13 worn, 40 damaged."


def test_a_sound_belt_is_said_to_be_sound():
    assert summary_sentence(60, {}) == "All 60 teeth are sound."
