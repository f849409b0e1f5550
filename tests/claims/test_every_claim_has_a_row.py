"""Whoever writes a sentence with a chance or an interval in it also writes what holds it."""

import pytest

from tests.claims import sentences
from tests.claims.rows import ROWS

KEYS = {claim.key for claim in sentences.CLAIMS}
PHRASES = [phrase for claim in sentences.CLAIMS for phrase in claim.phrases]


def test_every_sentence_that_claims_a_chance_is_on_the_list():
    listed = [*PHRASES, *sentences.NO_CLAIM]
    unlisted = [
        one for one in sentences.claiming() if not any(phrase in one.text for phrase in listed)
    ]
    assert not unlisted, "Put each into CLAIMS with a row, or into NO_CLAIM with the reason."


@pytest.mark.parametrize("phrase", [*PHRASES, *sentences.NO_CLAIM])
def test_nothing_stands_on_the_list_that_is_no_longer_said(phrase):
    assert any(phrase in one.text for one in sentences.sentences())


@pytest.mark.parametrize("key", sorted(KEYS))
def test_every_claim_has_a_row(key):
    assert any(row.key == key for row in ROWS)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row.key}, {row.what}")
def test_a_row_belongs_to_a_claim_and_says_where_the_product_warns(row):
    assert row.key in KEYS
    assert row.caution or not row.broken, "A world that breaks a claim needs its caution."
    if row.caution:
        assert any(row.caution in one.text for one in sentences.sentences())
