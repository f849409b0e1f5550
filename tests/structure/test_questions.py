"""Each trade question is answered in one place, and few steps away."""

import pytest
from django.utils.module_loading import import_string

from tests.structure.measuring import classes_that_meet
from tests.structure.questions import ANSWERS, hops
from tests.structure.reading_path import files_passed

MOST_HOPS = 2
MOST_FILES = 23


@pytest.mark.parametrize(("question", "path"), ANSWERS.items(), ids=ANSWERS)
def test_each_question_has_its_place(question, path):
    assert callable(import_string(path)), question
    assert hops(path) <= MOST_HOPS


def test_no_two_classes_of_one_name_meet_in_a_module():
    assert classes_that_meet() == []


def test_a_reading_passes_no_more_files_than_it_did():
    """From its box to the verdict; fewer is better, so lower the figure when it falls."""
    passed = files_passed()
    assert passed[0] == "alignment/sweeps/forms/sweep.py"
    assert "alignment/geometry/measure/verdict.py" in passed
    assert len(passed) <= MOST_FILES, passed
