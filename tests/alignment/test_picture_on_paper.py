"""The picture of a machine in print: legible, in words as well, and as seen at the visit."""

import io

import pytest
from pypdf import PdfReader

from alignment.figures.machine import SIZES, MachineFigure, StationMark
from alignment.sweeps.picture_on_paper import SMALLEST_PT, pictures, size_for
from shop.paper.documents import DocumentMeta, Letterhead, Section, build_document
from shop.visits.reporting import report_of
from tests.factories import item_of

META = DocumentMeta(Letterhead("Oldbridge Spindle Service", [], []), "Service report", "1", "today")


def pages_of(visit):
    pdf = build_document(META, [Section("", pictures(report_of(visit)))])
    return PdfReader(io.BytesIO(pdf)).pages


def test_a_report_shows_the_machine_as_found_at_the_visit(taken_up, sweep_of, machine):
    sweep_of(item_of(machine, "sub-spindle"), 90, 0)
    (page,) = pages_of(taken_up)
    said = " ".join(page.extract_text().split())
    assert "3 sub-spindle" in said
    assert "outside" in said
    assert "Ring: the tolerance" in said


def test_a_visit_to_no_machine_has_no_picture(visit):
    assert pictures(report_of(visit)) == []


@pytest.mark.parametrize("count", [5, 12, 60])
def test_no_text_on_paper_is_too_small(count):
    stations = [
        StationMark(n, n, f"station {n}", "turret", "within", "within") for n in range(count)
    ]
    one = MachineFigure("7", "left", tuple(stations))
    size = size_for(one, 480)
    assert size == ("wide-plain" if count == 60 else "wide")
    assert SIZES[size].font * 480 / SIZES[size].width >= SMALLEST_PT
