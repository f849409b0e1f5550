"""The demo: what a newcomer finds in it, and that it harms nothing."""

import hashlib
import io
from datetime import UTC, datetime
from decimal import Decimal

import pytest
from django.apps import apps
from django.contrib.auth import authenticate
from django.core.management import CommandError, call_command
from django.db import transaction
from django.utils import timezone
from pypdf import PdfReader

from alignment.sandbox.demo.sweeping import DIALS
from alignment.sweeps.models import Adjustment, Check, Reading, Sweep
from machines.drive.describe import turns_in_step
from machines.drive.models import BeltInspection, Recommendation
from machines.incidents.models import Incident
from machines.register.models import Machine, Station
from shop.paper.models import Document
from shop.people.models import Firm, Shop, User
from shop.sandbox.demo import Scene, make_demo, sign_ins
from shop.sandbox.demo.people import SHOPS
from shop.visits.models import Visit
from shop.visits.reporting import build_report
from shop.web.errors import Refused
from tests import factories
from tests.moments import BEGIN


@pytest.fixture(scope="module")
def demo(django_db_setup, django_db_blocker):
    """The demo, made once for this module and taken out of the database afterwards."""
    with django_db_blocker.unblock(), transaction.atomic():
        # Told up to today: what it plans ahead cannot be planned for a day that passed.
        make_demo(BEGIN)
        yield
        transaction.set_rollback(True)


@pytest.fixture
def demo_command(settings, tmp_path):
    """Runs the command with its report going to a folder of the test; returns what it printed."""
    settings.LOCAL_DIR = tmp_path

    def run(*args):
        out = io.StringIO()
        call_command("demo", *args, stdout=out)
        return out.getvalue()

    return run


def everything():
    """Every row of every table of the site, to see whether anything changed."""
    return {
        model._meta.label: sorted(model.objects.values_list(), key=str)
        for label in ("shop", "machines", "alignment")
        for model in apps.get_app_config(label).get_models()
    }


def test_two_shops_are_served_by_one_firm(demo):
    assert Shop.objects.count() == 2
    assert {visit.firm for visit in Visit.objects.all()} == {Firm.objects.get()}
    assert set(Visit.objects.values_list("shop", flat=True)) == set(
        Shop.objects.values_list("pk", flat=True)
    )


def test_six_machines_stand_at_the_shops(demo):
    assert Machine.objects.count() == 6


def test_the_visits_span_two_years(demo):
    signed = Visit.objects.filter(state=Visit.State.SIGNED)
    first, last = signed.earliest("signed_at"), signed.latest("signed_at")
    assert 600 < (last.signed_at - first.signed_at).days < 760


def test_nothing_lies_in_the_future(demo):
    for model, column in [(Check, "made_at"), (Incident, "happened_at"), (Adjustment, "made_at")]:
        assert model.objects.filter(**{f"{column}__gt": BEGIN}).count() == 0
    assert Visit.objects.filter(signed_at__gt=BEGIN).count() == 0


def test_one_crash_was_put_right_and_one_is_open(demo):
    states = Incident.objects.order_by("happened_at").values_list("state", flat=True)
    assert list(states) == [Incident.State.CLOSED, Incident.State.LOGGED]


def test_the_newest_crash_waits_for_a_visit_with_its_machine_stopped(demo):
    waiting = Incident.objects.get(state=Incident.State.LOGGED)
    assert waiting.machine.is_stopped
    assert not waiting.visited.exists()


@pytest.mark.parametrize("quantity", ["offset", "tilt"])
def test_the_crash_left_the_housing_outside_and_the_visit_left_it_within(demo, quantity):
    repaired = Incident.objects.get(state=Incident.State.CLOSED)
    checks = Check.objects.filter(
        visit__visited__incident=repaired,
        item__station__kind=Station.Kind.GUIDE_BUSHING,
        item__quantity=quantity,
    )
    assert [(c.phase, c.verdict) for c in checks] == [
        ("as found", "outside"),
        ("as left", "within"),
    ]


def test_no_crash_leaves_more_than_a_tenth_of_a_millimetre(demo):
    assert max(abs(value) for value in Check.objects.values_list("value_um", flat=True)) < 100


def test_machines_drift_slowly_between_visits(demo):
    """As found less the check before it: nothing but the crash moves a station by 20 µm."""
    repaired = Incident.objects.get(state=Incident.State.CLOSED)
    steps = [
        abs(now.value_um - before.value_um)
        for item in {check.item for check in Check.objects.select_related("item")}
        for before, now in zip(item.checks.all(), list(item.checks.all())[1:], strict=False)
        if now.phase == "as found" and not now.visit.visited.filter(incident=repaired).exists()
    ]
    assert max(steps) < 20
    assert sum(step > 0.5 for step in steps) > len(steps) / 3


def test_readings_stand_on_the_lines_of_the_dial(demo):
    for unit, dial in DIALS.items():
        shown = Reading.objects.filter(unit=unit).values_list("value_um", flat=True)
        assert shown.exists()
        assert all(value % dial.step_um == 0 for value in shown)


def test_two_marked_teeth_became_an_approved_priced_and_fitted_replacement(demo):
    advice = Recommendation.objects.filter(machine__number="1").last()
    inspection = advice.evidence.first().record
    assert isinstance(inspection, BeltInspection)
    assert list(inspection.conditions().values()) == ["marked", "marked"]
    approved, ordered, fitted = advice.steps.all()
    assert (approved.state, ordered.state, fitted.state) == ("approved", "ordered", "fitted")
    assert approved.unit_price == ordered.unit_price == fitted.fitting.unit_price
    assert fitted.fitting.serial.startswith("lot ")
    assert advice.belt.fittings.get(from_the_start=True).removal.visit == fitted.fitting.visit


def test_the_guide_bushings_of_the_demo_turn_in_step(demo):
    for machine in Machine.objects.filter(assemblies__isnull=False).distinct():
        assert turns_in_step(machine.belts.all()).in_step


def test_every_signed_visit_has_its_report_as_issued(demo):
    for visit in Visit.objects.filter(state=Visit.State.SIGNED):
        document = Document.objects.get(visit=visit, kind="service report")
        content = document.file.read()
        assert content.startswith(b"%PDF")
        assert hashlib.sha256(content).hexdigest() == document.sha256


@pytest.mark.parametrize("username", ["contractor", "owner", "operator"])
def test_the_three_people_can_sign_in(demo, username):
    shown = next(sign_in for sign_in in sign_ins() if sign_in.username == username)
    assert authenticate(username=shown.username, password=shown.password)


def test_nobody_else_has_a_password(demo):
    shown = {sign_in.username for sign_in in sign_ins()}
    others = User.objects.exclude(username__in=shown)
    assert others
    assert not any(user.has_usable_password() for user in others)


def test_making_it_twice_changes_nothing(demo):
    before = everything()
    assert make_demo(timezone.now()) is False
    assert everything() == before


def test_the_command_writes_a_report_and_prints_how_to_sign_in(demo, demo_command, tmp_path):
    printed = demo_command("--no-serve", "--port", "8123")
    (report,) = tmp_path.glob("SR-*.pdf")
    assert report.read_bytes().startswith(b"%PDF")
    assert str(report) in printed
    assert "http://127.0.0.1:8123/" in printed
    for sign_in in sign_ins():
        assert sign_in.username in printed
        assert sign_in.password in printed
    assert "made before" in printed


@pytest.mark.django_db
def test_another_shop_s_database_is_left_alone(demo_command):
    factories.ShopFactory(name="Somebody's Own Works")
    before = everything()
    with pytest.raises(CommandError, match="Somebody's Own Works"):
        demo_command("--no-serve")
    assert everything() == before


@pytest.mark.django_db
def test_the_demo_beside_another_shop_is_left_alone(demo_command):
    for shop in SHOPS.values():
        factories.ShopFactory(name=shop.name)
    factories.ShopFactory(name="Somebody's Own Works")
    with pytest.raises(CommandError, match="other shops"):
        demo_command("--no-serve")


@pytest.mark.django_db
def test_people_of_the_same_name_are_left_alone():
    factories.UserFactory(username="owner")
    with pytest.raises(Refused, match="named like the demo's"):
        # Told up to today: what it plans ahead cannot be planned for a day that passed.
        make_demo(BEGIN)
    assert not Shop.objects.exists()


def test_it_serves_on_this_machine_only(monkeypatch):
    called = []
    module = "shop.management.commands.demo"
    monkeypatch.setattr(f"{module}.call_command", lambda *args, **kw: called.append(args))
    monkeypatch.setattr(f"{module}.make_demo", lambda: False)
    monkeypatch.setattr(f"{module}.write_report", lambda: "report.pdf")
    call_command("demo", "--port", "8123", stdout=io.StringIO())
    assert called[-1] == ("runserver", "127.0.0.1:8123")


@pytest.mark.parametrize("day", range(16, 23))
def test_crash_visits_come_after_their_crash_on_any_day_of_the_week(day):
    from alignment.sandbox.demo.crashes import FIRST_DAYS_AGO
    from alignment.sandbox.demo.visits import VISITS

    shop = factories.ShopFactory.build(time_zone="America/Chicago")
    scene = Scene(datetime(2025, 6, day, 9, 30, tzinfo=UTC))
    (visit,) = [planned for planned in VISITS if planned.after_crash]
    crash = scene.moment(shop, FIRST_DAYS_AGO, "14:20")
    arrival = scene.moment(shop, visit.days_ago, "07:40")
    assert crash < arrival
    assert crash.weekday() < 5
    assert arrival.weekday() < 5


def test_an_inch_dial_is_read_in_half_tenths():
    """Half of a ten-thousandth of an inch is 1.27 µm, since an inch is 25.4 mm exactly."""
    assert DIALS["in"].step_um == Decimal("0.00005") * Decimal("25400")


def test_every_sweep_names_the_indicator_it_was_taken_with(demo):
    assert not Sweep.objects.filter(indicator_name="").exists()


def test_a_housing_s_tilt_is_swept_near_and_far(demo):
    tilt = Check.objects.filter(item__quantity="tilt").first()
    assert len({sweep.z_mm for sweep in tilt.sweeps.all()}) == 2


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_each_machine_of_a_report_is_answered_on_one_page(demo, paper):
    """From who it is and whether it may run to who signed, on each paper."""
    for visit in Visit.objects.filter(state="signed").order_by("-pk")[:4]:
        visit.firm.paper_size = paper
        machines = [here.machine for here in visit.visited.all()]
        summary = len(machines) > 1
        said = [page.extract_text() for page in PdfReader(io.BytesIO(build_report(visit))).pages]
        answers = said[summary : summary + len(machines)]
        for machine, page in zip(machines, answers, strict=True):
            assert f"Machine {machine}" in page
            assert "May it run: " in page
            assert "Signed" in page
