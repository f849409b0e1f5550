"""A synthetic fleet: what is written, and that it is what the rest of the product believes in."""

import json

import pytest
from django.core.management import CommandError, call_command
from django.db import IntegrityError, transaction
from django.test import Client

from alignment.sweeps.measuring import worked_out
from alignment.sweeps.models import Check, Reading
from machines.drive.models import BeltInspection
from machines.incidents.models import Incident
from machines.register.models import Machine
from shop.billing.models import Statement
from shop.people.models import User
from shop.sandbox.synthetic_data import Asked, make_fleet
from shop.sandbox.synthetic_data.people import EVERYWHERE
from shop.visits.models import Visit
from shop.web.errors import Refused
from tests.fleet.conftest import NOW


def written(seed):
    """What a fleet's tables say, but for keys and passwords; the fleet is taken back."""
    with transaction.atomic():
        fleet = make_fleet(Asked(machines=5, years=1, seed=seed), NOW)
        said = [
            list(Machine.objects.values_list("number", "model_name", "serial", "code")),
            list(Check.objects.order_by("pk").values_list("value_um", "verdict", "entry_id")),
            list(Reading.objects.order_by("pk").values_list("typed", flat=True)),
            list(Visit.objects.order_by("pk").values_list("number", "arrived_at", "state")),
            list(Statement.objects.order_by("pk").values_list("gross", flat=True)),
            fleet.rows,
        ]
        transaction.set_rollback(True)
    return said


def test_the_same_seed_makes_the_same_fleet_and_another_another(db):
    assert written(3) == written(3)
    assert written(3) != written(4)


def test_every_machine_has_its_chain_its_visits_and_what_was_found(fleet):
    for machine in Machine.objects.all():
        visits = machine.visited.filter(visit__state="signed").count()
        assert machine.stations.filter(datum=None).count() == 1
        assert 3 <= visits <= 4 + machine.incidents.count()
        assert Check.objects.of_machine(machine).filter(phase="as found").exists()
        assert BeltInspection.objects.filter(belt__machine=machine).exists()
        assert machine.meter_readings.count() == visits + 2


def test_every_figure_comes_from_its_readings(fleet):
    for check in Check.objects.prefetch_related("sweeps__readings", "item").order_by("pk")[::25]:
        anew = worked_out(check)
        assert anew.value_um == pytest.approx(check.value_um, abs=1e-9)
        assert anew.verdict == check.verdict


def test_what_was_signed_is_frozen(fleet):
    check = Check.objects.filter(visit__state="signed").first()
    check.value_um = 0.0
    with pytest.raises(IntegrityError, match="signed records do not change"), transaction.atomic():
        check.save()
    with pytest.raises(IntegrityError, match="signed records do not change"), transaction.atomic():
        Reading.objects.filter(sweep__check_record=check).delete()


def test_a_machine_stands_only_after_a_hard_incident_nobody_has_looked_at(fleet):
    for machine in Machine.objects.with_stop_state():
        waiting = machine.incidents.filter(may_run=False, state=Incident.State.LOGGED)
        assert machine.is_stopped == waiting.exists()


def test_who_sees_the_whole_fleet_reads_its_pages(fleet):
    client = Client()
    client.force_login(User.objects.get(username=EVERYWHERE))
    machine = Machine.objects.first()
    for address in ("/", "/machines/", "/due/", "/lives/", machine.get_absolute_url()):
        assert client.get(address).status_code == 200


def test_a_fleet_in_the_same_place_is_refused(fleet):
    with pytest.raises(Refused, match="already"):
        make_fleet(Asked(machines=1), NOW)


@pytest.mark.parametrize("asked", [Asked(0), Asked(1, years=0), Asked(1, visits_a_year=0)])
def test_a_fleet_of_nothing_is_refused(db, asked):
    with pytest.raises(Refused, match="one machine at least"):
        make_fleet(asked, NOW)


def test_the_command_writes_the_truth_beside_the_database(db, settings, tmp_path, capsys):
    settings.LOCAL_DIR = tmp_path
    call_command("fleet", machines=2, years=0.5)
    truth = json.loads((tmp_path / "fleet-truth.json").read_text())["machines"]
    assert {int(pk) for pk in truth} == set(Machine.objects.values_list("pk", flat=True))
    assert "2 machines at 1 shops" in capsys.readouterr().out
    with pytest.raises(CommandError, match="already"):
        call_command("fleet", machines=2)


def test_a_fleet_is_written_in_bulk(db, django_assert_max_num_queries):
    """In some hundred statements for one firm, and not one for each of its rows."""
    with django_assert_max_num_queries(400):
        fleet = make_fleet(Asked(machines=30, years=1), NOW)
    assert fleet.rows.total() > 3500
