"""What was asked for is parted into terms, and a word is known again though it is mistyped.

How alike words are: difflib of the Python standard library, whose documents' example is tried here.
"""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.search.words import (
    LONGEST_QUERY,
    MOST_TERMS,
    around,
    meant,
    pattern_of,
    terms_of,
)


@pytest.mark.parametrize(
    ("text", "terms"),
    [
        ("guide bushing", ["guide", "bushing"]),
        ('"guide bushing" belt', ["guide bushing", "belt"]),
        ('an "open quote', ["an", "open", "quote"]),
        ('" "', []),
        ('"""', []),
        ("belt belt", ["belt"]),
        ("a\0b", ["ab"]),
        ("  \n\t ", []),
        ("מסב ציר", ["מסב", "ציר"]),
        ("re\u0301glage", ["r\u00e9glage"]),
    ],
)
def test_words_and_what_stands_in_quotes_are_terms(text, terms):
    assert terms_of(text) == terms


def test_a_very_long_text_gives_few_short_terms():
    terms = terms_of("ab " * 2500)
    assert terms == ["ab"]
    assert len(terms_of(" ".join(map(str, range(2000))))) == MOST_TERMS
    assert terms_of("x" * 5000) == ["x" * LONGEST_QUERY]


@given(st.text(max_size=60))
def test_a_term_finds_itself_and_nothing_breaks(text):
    for term in terms_of(text):
        assert re.search(pattern_of(term), term, re.IGNORECASE)


@given(st.text(max_size=400), st.text(min_size=1, max_size=20))
def test_the_words_around_hold_the_hit_and_are_part_of_the_text(text, asked):
    terms = terms_of(asked)
    parts = around([text], terms) if terms else []
    for part, is_it in parts:
        assert not is_it or part in " ".join(text.split())
    assert not parts or any(is_it for _part, is_it in parts)


def test_the_words_around_are_cut_on_both_sides_and_every_hit_in_them_is_marked():
    text = "x" * 200 + " worn belt, worn pulley " + "y" * 200
    parts = around(["nothing here", text], ["worn"])
    assert [part for part, is_it in parts if is_it] == ["worn", "worn"]
    assert parts[0][0].startswith("…")
    assert parts[-1][0].endswith("…")
    assert sum(len(part) for part, _is_it in parts) < 200


def test_the_word_most_like_it_is_the_one_that_python_s_documents_name():
    """The Python standard library, difflib: of ape, apple, peach and puppy, 'apple' is the closest
    to 'appel'."""
    assert meant("appel", ["ape", "apple", "peach", "puppy"]) == "apple"


@pytest.mark.parametrize("typed", ["Quarlw", "Quarow", "quarlovv", "Qaurlow"])
def test_a_mistyped_word_is_taken_for_the_one_most_like_it(typed):
    assert meant(typed, ["Pintlow", "Quarlow", "Turned"]) == "Quarlow"


def test_a_word_that_is_known_stays_and_one_like_none_means_nothing():
    assert meant("quar", ["Quarlow"]) == "quar"
    assert meant("zzzzzz", ["Quarlow"]) is None
    assert meant("belt", []) is None
