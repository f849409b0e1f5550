"""Signing by hand: what is drawn, what it stands for, and that none of it changes."""

import json
from decimal import Decimal

import pytest
from django.urls import reverse
from pypdf import PdfReader

from alignment.sweeps.services import save_check
from machines.visit_work.services import add_machine_to_visit
from shop.visits.models import SignedRecord
from shop.visits.services import sign_and_issue, sign_visit
from shop.visits.signed import digest_of, said_by
from shop.visits.strokes import MOST_POINTS, read_strokes
from tests.factories import VisitFactory, item_of, typed_sweep

pytestmark = pytest.mark.usefixtures("nothing_missing")

NAMES = {"contractor": ("A", "service"), "customer": ("B", "owner")}
FORM = {
    "contractor_name": "Ada Fitter",
    "contractor_role": "Service contractor",
    "customer_name": "Bo Owner",
    "customer_role": "Works manager",
    "read": "on",
}


def test_a_drawing_is_kept_to_a_tenth_of_a_point():
    assert read_strokes("[[[0, 1.26], [3, 4]], []]") == [[[0.0, 1.3], [3.0, 4.0]]]


def test_an_empty_drawing_is_no_strokes():
    assert read_strokes("  ") == []


@pytest.mark.parametrize(
    "text",
    [
        "{}",
        "[[1, 2]]",
        "[[[1]]]",
        '[[["a", 2]]]',
        "[[[1e9, 2]]]",
        "[[[NaN, 2]]]",
        "[[[true, 2]]]",
        "not json",
        json.dumps([[[0, 0]] * (MOST_POINTS + 1)]),
        json.dumps([[[0, 0]]] * 500),
        "[" * 100_000,
        f"[[[1, {'9' * 5000}]]]",
    ],
    ids=range(12),
)
def test_what_is_no_drawing_is_refused(text):
    with pytest.raises(ValueError, match="draw it again"):
        read_strokes(text)


def sign(client, contractor, visit, **drawn):
    client.force_login(contractor)
    return client.post(reverse("shop:sign", args=[visit.pk]), FORM | drawn)


def test_a_drawn_signature_is_kept_as_lines(client, contractor, visit):
    sign(client, contractor, visit, contractor_strokes="[[[0, 0], [5, 5]]]")
    assert visit.signatures.get(party="contractor").strokes == [[[0.0, 0.0], [5.0, 5.0]]]


def test_a_typed_name_alone_is_a_signature(client, contractor, visit):
    sign(client, contractor, visit)
    assert visit.signatures.get(party="customer").strokes == []


def test_a_drawing_that_cannot_be_read_is_refused_and_nothing_is_signed(client, contractor, visit):
    page = sign(client, contractor, visit, customer_strokes="scribble").content.decode()
    assert "draw it again" in page
    visit.refresh_from_db()
    assert not visit.is_signed


def lines_of(document):
    """How many line segments the report draws."""
    reader = PdfReader(document.file.open())
    return sum(page.get_contents().get_data().split().count(b"l") for page in reader.pages)


def test_the_drawn_line_is_on_the_report_as_a_vector(visit, shop, firm, contractor):
    typed = sign_and_issue(visit, **NAMES)
    other = VisitFactory(shop=shop, firm=firm, contractor=contractor, number="2025-777")
    zigzag = [[[n, n % 2 * 10] for n in range(40)]]
    drawn = sign_and_issue(other, contractor=("A", "service", zigzag), customer=("B", "owner"))
    assert lines_of(drawn) >= lines_of(typed) + 39


@pytest.fixture
def measured(visit, machine, contractor):
    """A visit at which one check was made."""
    add_machine_to_visit(visit, machine)
    save_check(
        visit=visit,
        item=item_of(machine, "guide bushing"),
        phase="as found",
        sweep=typed_sweep(12, 5),
        made_by=contractor,
    )
    return visit


def test_what_was_signed_is_listed_record_by_record(measured):
    sign_visit(measured, **NAMES)
    names = " ".join(SignedRecord.objects.values_list("name", flat=True))
    assert "Findings and check list, machine M1" in names
    assert "Check, machine M1" in names


def test_the_digest_of_a_signed_check_can_be_found_again(measured):
    sign_visit(measured, **NAMES)
    check = measured.checks.get()
    sweeps = list(check.sweeps.all())
    rows = [*sweeps, *(reading for sweep in sweeps for reading in sweep.readings.all())]
    listed = SignedRecord.objects.get(name__startswith="Check")
    assert said_by(check, rows) == listed.said
    assert digest_of(listed.said) == listed.digest


def test_one_changed_reading_changes_the_digest(measured):
    check = measured.checks.get()
    readings = list(check.sweeps.get().readings.all())
    before = digest_of(said_by(check, readings))
    readings[0].value_um += Decimal("0.0001")
    assert digest_of(said_by(check, readings)) != before


def test_the_report_lists_what_was_signed(measured):
    document = sign_and_issue(measured, **NAMES)
    text = "\n".join(page.extract_text() for page in PdfReader(document.file.open()).pages)
    assert "What was signed" in text
