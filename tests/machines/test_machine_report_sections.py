"""The machines app's parts of the service report, read back from the PDF."""

import io

import pytest
from django.core.files.base import ContentFile
from PIL import Image
from pypdf import PdfReader

from machines.drive import report as drive_report
from machines.drive.inspecting import inspect_belt
from machines.drive.recommending import take_step
from machines.drive.services import pin_photo
from machines.incidents import report as incidents_report
from machines.incidents.follow_up import tick_line
from machines.incidents.models import CheckLine
from machines.incidents.services import log_incident
from machines.register import report as register_report
from machines.visit_work.services import add_machine_to_visit, note_findings
from shop.paper.documents import DocumentMeta, Letterhead, Section, build_document
from shop.visits.reporting import report_of
from tests import factories
from tests.papers import words_of


@pytest.fixture
def visited(visit, machine, operator):
    incident = log_incident(
        machine=machine,
        made_by=operator,
        happened_at=factories.at(3, 12),
        what_hit="gang tool holder",
        hit_what="sub-spindle nose",
        severity="hard",
        offset_seen_um="127",
        offset_seen_typed="5 thou",
        broken="two inserts",
        note="Bar came out short.",
        may_run=True,
    )
    return add_machine_to_visit(visit, machine, incident=incident)


def printed(section, visit):
    """The text of one section, its white space made single."""
    flowables = section(report_of(visit))
    meta = DocumentMeta(Letterhead("Firm"), "Service report", "SR-1", "1 Mar 2025")
    return words_of(build_document(meta, [Section("", flowables)]))


def test_what_was_found_is_told_under_its_machine(visited):
    note_findings(visited, "Housing cocked.")
    text = printed(register_report.findings, visited.visit)
    assert "What was found at machine M1 slider 20 mm Housing cocked." in text


def test_the_incident_is_told_in_the_shops_time_and_unit(visited):
    text = printed(incidents_report.incident, visited.visit)
    for told in (
        "3 Mar 2025, 13:00",  # Zurich in winter is an hour ahead of UTC
        "gang tool holder hit sub-spindle nose",
        "0.127 mm (typed as 5 thou)",
        "two inserts",
        "Bar came out short.",
    ):
        assert told in text


def test_a_visit_nothing_called_for_has_no_incident(visit, machine):
    add_machine_to_visit(visit, machine)
    assert incidents_report.incident(report_of(visit)) == []


def test_a_belt_looked_at_is_told_in_words_with_its_map(visited, belt, contractor):
    inspect_belt(belt=belt, made_by=contractor, teeth={12: "marked"}, visit=visited.visit)
    text = printed(drive_report.belts, visited.visit)
    assert "1 of 60 teeth not sound: 12 damaged." in text
    assert "Counted from the belt's mark" in text  # the map's caption


def test_a_sound_belt_takes_one_line_and_no_map(visited, belt, contractor):
    inspect_belt(belt=belt, made_by=contractor, teeth={}, visit=visited.visit)
    assert "Counted from the belt's mark" not in printed(drive_report.belts, visited.visit)


def test_what_grew_since_the_look_before_is_told(visited, belt, contractor, operator):
    inspect_belt(belt=belt, made_by=operator, teeth={12: "marked"}, made_at=factories.at(1))
    inspect_belt(belt=belt, made_by=contractor, teeth={12: "worn"}, visit=visited.visit)
    told = "Since 1 Mar 2025: Tooth 12 was damaged and is worn."
    assert told in printed(drive_report.belts, visited.visit)


def test_a_belt_not_looked_at_is_not_passed_over(visited, belt, contractor):
    inspect_belt(belt=belt, made_by=contractor, teeth={}, visit=visited.visit)
    text = printed(drive_report.belts, visited.visit)
    assert "All 60 teeth are sound." in text
    assert "Not looked at during this visit: jack shaft belt" in text


def test_a_part_looked_at_in_detail_is_nowhere_said_not_to_be(visited, belt, contractor):
    """What an incident called for is told by the inspection, also where it was ticked besides."""
    line = CheckLine.objects.create(
        visited=visited, what=CheckLine.What.PART, subject=belt.name, reason="shock", position=99
    )
    tick_line(line, by=contractor, found="sound")
    assert "not looked at" not in printed(drive_report.check_list, visited.visit).lower()
    assert f"Not looked at during this visit: {belt}" not in printed(
        drive_report.belts, visited.visit
    )
    inspect_belt(belt=belt, made_by=contractor, teeth={12: "marked"}, visit=visited.visit)
    text = printed(drive_report.check_list, visited.visit)
    assert "1 of 60 teeth not sound: 12 damaged." in text
    assert "sound" not in text.replace("not sound", "")


def test_a_corrected_look_is_left_out(visited, belt, contractor):
    look = {"belt": belt, "made_by": contractor, "visit": visited.visit}
    wrong = inspect_belt(**look, teeth={12: "cracked"})
    inspect_belt(**look, teeth={13: "marked"}, corrects=wrong)
    text = printed(drive_report.belts, visited.visit)
    assert "13 damaged" in text
    assert "12 cracked" not in text


def test_replacements_say_what_how_urgent_why_and_on_what_evidence(visited, belt, contractor):
    inspect_belt(belt=belt, made_by=contractor, teeth={3: "worn", 9: "worn"}, visit=visited.visit)
    text = printed(drive_report.replacements, visited.visit)
    for told in (
        "this visit",
        "Replace the guide bushing belt (GB-60)",
        "2 of 60 teeth damaged or worn",
        "tooth 3 worn, tooth 9 worn",
        "open",
    ):
        assert told in text


def test_no_evidence_is_cut_off(visited, belt, contractor):
    inspect_belt(
        belt=belt,
        made_by=contractor,
        teeth=dict.fromkeys(range(1, 61), "worn"),
        visit=visited.visit,
    )
    told = [one.sentence for one in belt.machine.recommendations.get().evidence.all()]
    assert max(map(len, told)) <= 300
    said = " ".join(told)
    assert len(said) > 300
    assert said.count("worn") == 60
    assert said in printed(drive_report.replacements, visited.visit)


def test_the_most_urgent_replacement_comes_first(visited, machine, contractor):
    teeth = {"guide bushing belt": {3: "worn", 9: "worn"}, "jack shaft belt": {7: "cracked"}}
    for name, found in teeth.items():
        belt = machine.belts.get(name=name)
        inspect_belt(belt=belt, made_by=contractor, teeth=found, visit=visited.visit)
    text = printed(drive_report.replacements, visited.visit)
    assert text.index("jack shaft belt") < text.index("guide bushing belt")


def test_an_answer_is_printed_beside_what_it_answers(visited, belt, contractor, owner):
    inspect_belt(belt=belt, made_by=contractor, teeth={3: "worn", 9: "worn"}, visit=visited.visit)
    take_step(belt.machine.recommendations.get(), "deferred", made_by=owner, note="next month")
    assert "deferred: next month" in printed(drive_report.replacements, visited.visit)


def test_without_advice_there_is_no_table(visited):
    assert drive_report.replacements(report_of(visited.visit)) == []


def test_a_photo_pinned_to_a_tooth_is_printed_with_its_tooth(visited, belt, contractor):
    found = inspect_belt(
        belt=belt, visit=visited.visit, made_by=contractor, teeth={17: "marked", 18: "marked"}
    )
    for tooth, colour in ((17, "brown"), (20, "black")):
        file = io.BytesIO()
        Image.new("RGB", (40, 30), colour).save(file, "JPEG")
        pin_photo(found, tooth=tooth, photo=ContentFile(file.getvalue(), name="tooth.jpg"))
    flowables = drive_report.belts(report_of(visited.visit))
    meta = DocumentMeta(Letterhead("Firm"), "Service report", "SR-1", "1 Mar 2025")
    pages = PdfReader(io.BytesIO(build_document(meta, [Section("", flowables)]))).pages
    text = " ".join(page.extract_text() for page in pages)
    assert "Tooth 17: damaged" in text
    assert "Tooth 20: sound" in text
    assert sum(len(page.images) for page in pages) == 2
