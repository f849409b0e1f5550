"""The report's sections on alignment, read back from the PDF as a customer reads them."""

import pytest

from alignment.adjusting.ticking import tick
from alignment.sweeps import report as sections
from alignment.sweeps.models import Sweep
from machines.visit_work.services import add_machine_to_visit
from shop.paper.documents import DocumentMeta, Letterhead, Section, build_document
from shop.visits.reporting import report_of
from shop.visits.services import correct_visit
from tests.factories import item_of, station_of
from tests.papers import words_of

META = DocumentMeta(Letterhead("Oldbridge Spindle Service", [], []), "Service report", "1", "today")


@pytest.fixture
def printed(taken_up):
    """The text of one section of the visit's report."""

    def read(section, visit=taken_up):
        flowables = section(report_of(visit))
        return words_of(build_document(META, [Section("", flowables)]))

    return read


def test_the_chain_stands_in_checking_order_with_tolerances(printed):
    text = printed(sections.chain)
    names = ["headstock spindle", "guide bushing housing", "sub-spindle", "back tool", "gang tool"]
    places = [text.index(name) for name in names]
    assert places == sorted(places)
    assert "up to 0.01 mm 0.003 mm" in text


def test_as_found_and_as_left_stand_with_their_uncertainty(printed, sweep_of, moved, bore):
    sweep_of(bore, 40, 0)
    moved()
    sweep_of(bore, 2, 0, "as left")
    text = printed(sections.chain)
    assert "0.0400 mm ± 0.0007 mm guard 0.0006 mm, outside" in text
    assert "0.0020 mm ± 0.0007 mm guard 0.0006 mm" in text
    assert "within" in text


def test_a_typed_uncertainty_has_its_caution_in_print(printed, sweep_of, bore):
    sweep_of(bore, 2, 0)
    Sweep.objects.update(reading_u_typed="")
    assert "Typed 30 % too small" not in printed(sections.pictures)
    Sweep.objects.update(reading_u_typed="0.0005")
    assert "Typed 30 % too small" in printed(sections.pictures)


def test_what_was_not_moved_is_left_as_found(printed, sweep_of, bore):
    sweep_of(bore, 2, 0)
    assert "as found, nothing was moved" in printed(sections.chain)


def test_what_was_moved_and_not_measured_again_is_called_stale(printed, sweep_of, moved, bore):
    sweep_of(bore, 2, 0)
    before = printed(sections.chain).count("stale")
    moved()
    assert printed(sections.chain).count("stale") == before + 1


def test_the_decision_rule_is_named(printed):
    assert "ISO 14253-1" in printed(sections.chain)


def test_the_pictures_come_with_the_readings_as_typed(printed, sweep_of, bore):
    sweep_of(bore, 3, -4)
    text = printed(sections.pictures).replace("\N{NO-BREAK SPACE}", " ")
    assert "As found 0.0050 mm" in text
    assert "0°: 4.0 µm, 90°: -3.0 µm, 180°: -4.0 µm, 270°: 3.0 µm" in text
    assert "in a bore, u 0.5 µm" in text


def test_without_a_check_there_are_no_pictures(taken_up):
    assert sections.pictures(report_of(taken_up)) == []


def test_adjustments_are_told_with_how_far(printed, moved):
    moved(front_um=-31, what="tapped over with the brass drift")
    text = printed(sections.adjustments)
    assert "with the brass drift" in text
    assert "0.031 mm to the" in text


def test_without_an_adjustment_there_is_no_such_section(taken_up):
    assert sections.adjustments(report_of(taken_up)) == []


def test_a_correction_s_report_stands_for_the_whole_visit_with_what_is_corrected(
    printed, sweep_of, bore, machine, taken_up, signed, contractor, firm
):
    old = sweep_of(bore, 4, 0)
    sweep_of(item_of(machine, "sub-spindle"), 7, 0)
    signed(taken_up)
    taken_up.refresh_from_db()
    visit = correct_visit(taken_up, made_by=contractor, firm=firm, reason="a slip")
    add_machine_to_visit(visit, machine)
    sweep_of(bore, 5, 0, visit=visit, corrects=old)
    text = printed(sections.chain, visit)
    assert "0.0050 mm" in text
    assert "0.0070 mm" in text
    assert "0.0040 mm" not in text


def test_a_signed_visit_s_report_stays_as_it_was_signed(
    printed, sweep_of, bore, taken_up, signed, contractor, firm
):
    old = sweep_of(bore, 4, 0)
    signed(taken_up)
    taken_up.refresh_from_db()
    visit = correct_visit(taken_up, made_by=contractor, firm=firm, reason="a slip")
    sweep_of(bore, 5, 0, visit=visit, corrects=old)
    assert "0.0040 mm" in printed(sections.chain)


@pytest.mark.parametrize("section", [sections.chain, sections.pictures, sections.adjustments])
def test_a_section_costs_the_same_however_much_there_is(
    section, taken_up, machine, sweep_of, moved, bore, django_assert_max_num_queries
):
    sweep_of(bore)
    moved("gang tools")
    with django_assert_max_num_queries(20) as few:
        section(report_of(taken_up))
    for item in machine.sheets.get().items.all():
        sweep_of(item, phase="as left")
        moved("gang tools")
    with django_assert_max_num_queries(len(few)):
        section(report_of(taken_up))


def test_ticked_steps_stand_with_who_ticked_them_and_when(printed, taken_up, machine, contractor):
    station = station_of(machine, "guide bushing")
    for key in ("locked-out", "belt-off"):
        tick(visit=taken_up, station=station, key=key, made_by=contractor)
    text = printed(sections.steps)
    assert text.count("guide bushing housing, machine M1") == 2
    assert text.count(contractor.name) == 2
    assert "Machine locked out and discharged." in text
    assert report_of(taken_up).when(taken_up.ticks.first().made_at) in text


def test_without_ticks_nothing_is_said_of_cards(taken_up):
    assert sections.steps(report_of(taken_up)) == []


def test_a_picture_that_shows_its_centre_larger_stands_wider_than_the_others(
    taken_up, machine, sweep_of, moved, bore
):
    """Its text would be too small to read three to a row."""
    sweep_of(item_of(machine, "sub-spindle"), 3, 0)
    sweep_of(bore, 400, 0)
    moved()
    sweep_of(bore, 2, 0, "as left")
    pairs = sections._drawn(report_of(taken_up))
    small, whole = (table._colWidths[0] for table in sections._in_rows(pairs))
    assert whole > small
