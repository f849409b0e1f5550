"""Each trade question is answered in one place, and few steps away."""

import pytest
from django.utils.module_loading import import_string

from tests.structure.questions import ANSWERS, hops

MOST_HOPS = 3


@pytest.mark.parametrize(("question", "path"), ANSWERS.items(), ids=ANSWERS)
def test_each_question_has_its_place(question, path):
    assert callable(import_string(path)), question
    assert hops(path) <= MOST_HOPS
