"""What DEVELOPERS.md says of adding things is enough: one file, and one line that names it."""

import sys

import pytest
from django.db import models
from django.test.utils import isolate_apps

from machines.drive.recommending import recommend
from machines.register.models import Machine
from machines.visit_work.services import add_machine_to_visit
from shop.audit.archive_rules import ways_to
from shop.people.models import Shop
from shop.record import Record
from shop.records.checks import wrong_in
from shop.visits.reporting import build_report
from tests.papers import words_of

RULE = '''
from machines.drive.advice import Advice


def coolant_that_smells(machine, visit):
    """Coolant is changed at every visit."""
    yield Advice(
        rule="coolant that smells",
        subject="coolant",
        what="Change the coolant",
        urgency="this visit",
        reason="The coolant smells.",
        evidence=((machine, "smelt at the sump"),),
    )


RULES = [coolant_that_smells]
'''

SECTION = '''
from shop.paper.documents import heading, paragraph


def coolant(report):
    """What was smelt."""
    return [heading("Coolant"), paragraph(f"Smelt at visit {report.visit.number}.")]


SECTIONS = [coolant]
'''


@pytest.fixture
def added(tmp_path, monkeypatch):
    """Puts a file where it can be imported; gone again after the test."""
    monkeypatch.syspath_prepend(str(tmp_path))
    names = []

    def write(name, text):
        (tmp_path / f"{name}.py").write_text(text)
        names.append(name)

    yield write
    for name in names:
        sys.modules.pop(name, None)


@pytest.fixture
def at_work(visit, machine):
    add_machine_to_visit(visit, machine)
    visit.refresh_from_db()
    return visit


def test_a_replacement_rule_is_one_file(added, settings, at_work, machine, contractor):
    added("coolant_rules", RULE)
    settings.REPLACEMENT_RULES = [*settings.REPLACEMENT_RULES, "coolant_rules.RULES"]
    (advice,) = recommend(machine, visit=at_work, made_by=contractor)
    assert (advice.what, advice.rule) == ("Change the coolant", "coolant that smells")
    assert "smelt at the sump" in {one.sentence for one in advice.evidence.all()}


def test_a_report_section_is_one_file(added, settings, at_work):
    added("coolant_report", SECTION)
    settings.REPORT_SECTIONS = [*settings.REPORT_SECTIONS, "coolant_report.SECTIONS"]
    assert f"Smelt at visit {at_work.number}." in words_of(build_report(at_work))


@isolate_apps("machines")
def test_a_table_is_one_declaration():
    class CoolantReading(models.Model):
        record_rules = Record()

        machine = models.ForeignKey(Machine, on_delete=models.CASCADE, related_name="+")

        class Meta:
            app_label = "machines"

        def __str__(self):
            return f"coolant of {self.machine}"

    assert list(wrong_in(CoolantReading)) == []
    assert ways_to(Shop, CoolantReading) == ["machine__shop"]
