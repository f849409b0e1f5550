"""Taking machines up at visits."""

import pytest

from machines.register.models import VisitedMachine
from machines.visit_work import services
from shop.visits.models import Visit
from shop.visits.services import sign_visit
from shop.web.errors import Refused
from tests import factories


def test_planning_a_machine_does_not_count_as_arriving(visit, machine):
    services.add_machine_to_visit(visit, machine)
    visit.refresh_from_db()
    assert visit.state == Visit.State.PLANNED


def test_a_machine_of_another_shop_is_refused_at_the_visit(visit):
    elsewhere = factories.MachineFactory()
    with pytest.raises(Refused, match="another shop"):
        services.add_machine_to_visit(visit, elsewhere)
    assert not VisitedMachine.objects.exists()


def test_an_incident_of_another_machine_is_refused(visit, machine):
    other = factories.IncidentFactory(machine__shop=machine.shop)
    with pytest.raises(Refused, match="another machine's"):
        services.add_machine_to_visit(visit, machine, incident=other)


def test_a_machine_is_taken_up_once_and_keeps_its_incident(visit, machine):
    incident = factories.IncidentFactory(machine=machine)
    services.add_machine_to_visit(visit, machine)
    services.add_machine_to_visit(visit, machine, incident=incident)
    services.add_machine_to_visit(visit, machine)
    assert visit.visited.get().incident == incident


def test_the_first_incident_a_visit_was_called_for_stays(visit, machine):
    first, second = factories.IncidentFactory.create_batch(2, machine=machine)
    services.add_machine_to_visit(visit, machine, incident=first)
    services.add_machine_to_visit(visit, machine, incident=second)
    assert visit.visited.get().incident == first


def test_a_signed_visit_takes_no_further_machine(visit, machine, settings):
    """The visit in hand may still look planned: what counts is the one in the database."""
    settings.BEFORE_SIGNING = []
    sign_visit(visit, contractor=("A", "a"), customer=("B", "b"))
    with pytest.raises(Refused, match="no longer changes"):
        services.add_machine_to_visit(visit, machine)


def test_findings_are_written_down_in_words(visit, machine):
    visited = services.add_machine_to_visit(visit, machine)
    services.note_findings(visited, " the housing was cocked to the left ")
    assert visit.visited.get().findings == "the housing was cocked to the left"


def test_findings_of_a_signed_visit_are_refused(visit, machine, settings):
    settings.BEFORE_SIGNING = []
    visited = services.add_machine_to_visit(visit, machine)
    sign_visit(visit, contractor=("A", "a"), customer=("B", "b"))
    with pytest.raises(Refused, match="no longer changes"):
        services.note_findings(visited, "afterthought")


def test_a_correction_takes_up_the_machines_of_what_it_corrects(visit, machine, contractor, firm):
    incident = factories.IncidentFactory(machine=machine)
    services.add_machine_to_visit(visit, machine, incident=incident)
    correction = factories.VisitFactory(shop=visit.shop, firm=firm, corrects=visit)
    services.bring_corrected_machines(correction)
    taken = correction.visited.get()
    assert (taken.machine, taken.incident) == (machine, incident)
