"""What a visit lacks before it is signed: urgent replacements nobody has dealt with."""

import pytest

from machines.drive.inspecting import inspect_belt
from machines.drive.recommending import take_step
from machines.drive.services import fit_advised
from machines.drive.signing_blockers import urgent_replacements_left_open
from machines.incidents.stopping import release_machine, stop_machine
from machines.visit_work.services import add_machine_to_visit
from tests import factories


@pytest.fixture
def cracked(belt, at_visit, contractor):
    inspect_belt(belt=belt, made_by=contractor, teeth={7: "cracked"}, visit=at_visit)
    return belt.machine.recommendations.get()


@pytest.fixture
def worn(belt, at_visit, contractor):
    inspect_belt(belt=belt, made_by=contractor, teeth={7: "worn", 8: "worn"}, visit=at_visit)
    return belt.machine.recommendations.get()


def test_a_machine_that_may_run_against_the_advice_is_a_lack(at_visit, cracked):
    (lack,) = urgent_replacements_left_open(at_visit)
    assert lack.sentence.startswith("machine M1 may run, but before it does: Replace the guide")
    assert lack.url == cracked.get_absolute_url()


def test_it_is_none_while_the_machine_stands(at_visit, cracked, owner):
    stop_machine(cracked.machine)
    assert urgent_replacements_left_open(at_visit) == []
    release_machine(cracked.machine, by=owner, reason="needed")
    assert len(urgent_replacements_left_open(at_visit)) == 1


def test_to_approve_it_does_not_make_the_machine_fit_to_run(at_visit, cracked, owner):
    take_step(cracked, "approved", made_by=owner)
    assert len(urgent_replacements_left_open(at_visit)) == 1


def test_to_fit_it_does(at_visit, cracked, contractor):
    fit_advised(cracked, made_by=contractor)
    assert urgent_replacements_left_open(at_visit) == []


def test_advice_of_an_earlier_visit_counts_as_long_as_it_is_open(
    visit, cracked, contractor, firm, shop
):
    later = factories.VisitFactory(shop=shop, firm=firm, contractor=contractor)
    add_machine_to_visit(later, cracked.machine)
    assert len(urgent_replacements_left_open(later)) == 1


def test_a_replacement_for_this_visit_that_nobody_answered_is_a_lack(at_visit, worn):
    (lack,) = urgent_replacements_left_open(at_visit)
    assert lack.sentence.endswith("this visit: neither fitted nor decided on")


@pytest.mark.parametrize("state", ["approved", "deferred", "declined"])
def test_any_answer_settles_a_replacement_for_this_visit(at_visit, worn, owner, state):
    take_step(worn, state, made_by=owner, note="said so")
    assert urgent_replacements_left_open(at_visit) == []


def test_another_machines_advice_is_no_concern_of_the_visit(visit, cracked, shop, firm, contractor):
    elsewhere = factories.VisitFactory(shop=shop, firm=firm, contractor=contractor)
    add_machine_to_visit(elsewhere, factories.MachineFactory(shop=shop))
    assert urgent_replacements_left_open(elsewhere) == []
