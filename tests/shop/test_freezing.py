"""What was signed does not change, whoever asks the database: every frozen table is tried.

The services refuse with a sentence; these tests go past them, straight to the database in use.
"""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.apps import apps
from django.db import IntegrityError, connection, transaction
from django.utils import timezone

from alignment.adjusting.models import StepTick
from alignment.adjusting.services import record_adjustment
from alignment.adjusting.ticking import tick
from alignment.incidents.services import log_incident_at
from alignment.register.station_services import begin_new_line
from alignment.sheets.models import AcceptanceItem
from alignment.sweeps.models import Adjustment, Check, Reading, Sweep, SweepDraft
from alignment.sweeps.services import save_check
from machines.drive.belts_off import take_belt_off
from machines.drive.inspecting import inspect_belt
from machines.drive.models import (
    BearingInspection,
    BeltInspection,
    BeltOff,
    BeltTension,
    Evidence,
    Fitting,
    Rebuild,
    Recommendation,
    RecommendationStep,
    Removal,
    ToothFinding,
    ToothPhoto,
)
from machines.drive.recommending import take_step
from machines.drive.services import fit, fit_advised, inspect_bearing, note_rebuild, pin_photo
from machines.drive.tension import Measured
from machines.incidents.follow_up import look_at_incident
from machines.incidents.models import (
    CheckLine,
    Incident,
    IncidentPhoto,
    IncidentStation,
    IncidentStep,
)
from machines.planning.models import DueTime, PlanClosing, WantedWork
from machines.planning.plans import make_plan, mark_done, want_at
from machines.register.models import FindingPhoto, Machine, MeterReading, Station, VisitedMachine
from machines.visit_work.services import add_machine_to_visit, add_photo, read_meter
from shop.audit.freezing import MESSAGE, rules
from shop.billing.models import (
    Charge,
    Payment,
    Quote,
    QuoteAnswer,
    QuoteItem,
    QuoteLine,
    Statement,
    StatementLine,
    StatementTax,
)
from shop.billing.services import add_charge, issue_statement, record_payment
from shop.calendar.models import Proposal
from shop.paper.issuing import issue
from shop.paper.models import Document, Sending
from shop.people.models import ToldAnswer, ToldReply
from shop.visits.clock import enter_spell
from shop.visits.models import ComeBackStep, Signature, SignedRecord, Visit, WorkSpell
from shop.visits.services import arrive, sign_visit
from tests.factories import (
    AssemblyFactory,
    BearingFactory,
    QuoteFactory,
    TaxCategoryFactory,
    VisitFactory,
    item_of,
    photo_file,
    station_of,
    today,
    typed_sweep,
)

# What a change of each frozen table could look like.
CHANGES = {
    Visit: {"purpose": "something else"},
    WorkSpell: {"kind": "travel"},
    BeltOff: {"belt_id": None},
    FindingPhoto: {"caption": "nothing"},
    SignedRecord: {"digest": "0" * 64},
    Signature: {"name": "Somebody Else"},
    Document: {"sha256": "0" * 64},
    VisitedMachine: {"findings": "nothing was found"},
    MeterReading: {"value": Decimal("1.0")},
    Proposal: {"purpose": "something else"},
    PlanClosing: {"note": "never"},
    WantedWork: {"proposal_id": None},
    BeltInspection: {"note": "looked fine"},
    ToothFinding: {"condition": "worn"},
    ToothPhoto: {"tooth": 5},
    BeltTension: {"tension_n": Decimal("1")},
    BearingInspection: {"feel": "smooth"},
    Rebuild: {"feel_after": "perfect"},
    Fitting: {"serial": "another"},
    Removal: {"why": "broke"},
    Recommendation: {"reason": "for fun"},
    Evidence: {"sentence": "none"},
    RecommendationStep: {"note": "never said"},
    Incident: {"what_hit": "nothing"},
    IncidentPhoto: {"image": "other.jpg"},
    IncidentStep: {"found": "nothing"},
    CheckLine: {"found": "never looked at"},
    IncidentStation: {"station_id": None},
    Check: {"value_um": 0.0},
    Sweep: {"lever_deg": 10.0},
    Reading: {"value_um": Decimal("0")},
    Adjustment: {"what": "nothing"},
    StepTick: {"words": "never done"},
    AcceptanceItem: {"upper_um": Decimal("99")},
    Station: {"plane_mm": 99.0},
    Machine: {"headstock_side": "right"},
}
# Issued or done once, each for itself, whether a visit is signed or not.
ISSUED = {
    Statement: {"gross": Decimal("1")},
    StatementLine: {"net": Decimal("1")},
    StatementTax: {"amount": Decimal("1")},
    Charge: {"price": Decimal("1")},
    Payment: {"note": "never"},
    Sending: {"to_address": "a@b.example"},
    Quote: {"gross": Decimal("1")},
    QuoteItem: {"net": Decimal("1")},
    QuoteLine: {"net": Decimal("1")},
    QuoteAnswer: {"accepted": False},
    ToldAnswer: {"told_by": "somebody else"},
    ToldReply: {"objects_to_it": False},
    ComeBackStep: {"why": "never"},
}
# Added to after signing: the report, the answers, and what no signed record rests on.
MAY_BE_ADDED = {
    Visit,
    Document,
    Proposal,
    PlanClosing,
    RecommendationStep,
    Incident,
    IncidentPhoto,
    IncidentStep,
    AcceptanceItem,
    Station,
    Machine,
}

# What is half typed is no record: it is forgotten once the visit is signed.
NEVER_SIGNED = {SweepDraft._meta.db_table, DueTime._meta.db_table}

ALL = sorted(CHANGES, key=lambda model: model.__name__)
CLOSED_TO_ADDITIONS = [model for model in ALL if model not in MAY_BE_ADDED]


@pytest.fixture
def worked(visit, machine, contractor, operator, settings):
    """A visit with one record of every kind, not signed yet."""
    settings.BEFORE_SIGNING = []
    incident = log_incident_at(
        machine=machine,
        made_by=operator,
        stations=[station_of(machine, "sub-spindle")],
        photos=[photo_file()],
        happened_at=timezone.now(),
        what_hit="drill holder",
        hit_what="sub-spindle nose",
        severity="hard",
        may_run=False,
    )
    look_at_incident(incident, made_by=operator)
    arrive(visit)
    add_machine_to_visit(visit, machine, incident=incident)
    save_check(
        visit=visit,
        item=item_of(machine, "guide bushing"),
        phase="as found",
        sweep=typed_sweep(12, 5),
        made_by=contractor,
    )
    record_adjustment(
        visit=visit,
        station=station_of(machine, "guide bushing"),
        what="tapped to the left",
        made_by=contractor,
    )
    tick(
        visit=visit,
        station=station_of(machine, "guide bushing"),
        key="locked-out",
        made_by=contractor,
    )
    read_meter(
        machine=machine,
        visit=visit,
        value=Decimal("812.5"),
        read_at=timezone.now(),
        made_by=contractor,
    )
    plan = make_plan(
        shop=visit.shop,
        machine=machine,
        made_by=contractor,
        what="fill up way oil",
        kind="lubrication",
        weeks=1,
        starts_on=today(),
    )
    want_at(visit, [(plan, machine)])
    mark_done(plan, machine, made_by=contractor, visit=visit)
    Proposal.objects.create(
        shop=visit.shop,
        firm=visit.firm,
        purpose="planned checks",
        state="agreed",
        visit=visit,
        made_by=contractor,
    )
    begun = timezone.now() - timedelta(hours=2)
    enter_spell(
        visit=visit,
        who=contractor,
        kind="work",
        began_at=begun,
        ended_at=begun + timedelta(hours=1),
        made_by=contractor,
    )
    add_photo(
        visited=visit.visited.get(),
        image=photo_file(),
        caption="the housing",
        made_by=contractor,
    )
    belt = machine.belts.first()
    take_belt_off(visit, belt, made_by=contractor)
    teeth = {3: "marked", 4: "marked"}
    belt.span_mm = Decimal("250")
    belt.save()
    pressed = Measured(force_n=Decimal("10"), deflection_mm=Decimal("4"))
    inspection = inspect_belt(
        belt=belt, visit=visit, teeth=teeth, measured=pressed, made_by=contractor
    )
    pin_photo(inspection, tooth=3, photo=photo_file())
    bearing = BearingFactory(machine=machine)
    inspect_bearing(bearing=bearing, visit=visit, feel="stiff", made_by=contractor)
    fit(bearing, visit=visit, serial="lot 7", made_by=contractor)
    note_rebuild(
        assembly=AssemblyFactory(machine=machine),
        visit=visit,
        rebuilt_on=date(2025, 3, 4),
        who="Ida M.",
        fitted="two bearings",
        feel_before="rough",
        feel_after="fair",
        made_by=contractor,
    )
    take_step(Recommendation.objects.get(), "approved", made_by=contractor)
    return visit


@pytest.fixture
def signed(worked):
    """The same visit signed, its report issued."""
    signed = sign_visit(worked, contractor=("A", "service"), customer=("B", "owner"))
    issue(
        lambda check: b"%PDF", shop=signed.shop, visit=signed, kind="service report", number="SR-1"
    )
    return signed


@pytest.fixture
def issued(signed, contractor):
    """The visit's statement issued, mailed and paid in part, and a quote answered."""
    tax = TaxCategoryFactory(firm=signed.firm)
    ten = {"price": Decimal(10), "quantity": Decimal(1), "text": "gauge hire"}
    add_charge(signed, made_by=contractor, tax=tax, **ten)
    statement = issue_statement(signed, made_by=contractor)
    record_payment(statement, made_by=contractor, amount=Decimal(5), paid_on=statement.issued_on)
    Sending.objects.create(
        document=statement.document, to_address="owner@shop.example", made_by=contractor
    )
    quote = QuoteFactory(shop=signed.shop, firm=signed.firm, made_by=contractor)
    item = QuoteItem.objects.create(quote=quote, position=1, source="x", what="belt", net=10)
    line = {"position": 1, "kind": "part", "text": "belt", "unit": "pc", "tax_code": "S"}
    QuoteLine.objects.create(
        item=item, quantity=1, price=10, net=10, tax_name="VAT", tax_percent=20, **line
    )
    Quote.objects.filter(pk=quote.pk).update(sealed=True)
    told = ToldAnswer.objects.create(
        shop=signed.shop,
        firm=signed.firm,
        told_by="Ned",
        how="phone",
        told_on=date(2025, 3, 4),
        what="the belt: accepted",
        made_by=contractor,
    )
    ToldReply.objects.create(told=told, objects_to_it=True, why="not by me", made_by=contractor)
    QuoteAnswer.objects.create(item=item, accepted=True, told=told, made_by=contractor)
    ComeBackStep.objects.create(visit=signed, state="done", made_by=contractor)


def change_of(model, record):
    """The change to try; an incident's station moves to another station of the machine."""
    if model is IncidentStation:
        return {"station_id": station_of(record.station.machine, "gang tools").pk}
    if model is BeltOff:
        return {"belt_id": record.belt.machine.belts.last().pk}
    return CHANGES[model]


def record_of(model):
    """The record to try it on; of the sheet's lines, the one a check was held against; of
    what was fitted, what was fitted at the visit."""
    if model is AcceptanceItem:
        return Check.objects.get().item
    if model is Station:
        return Check.objects.get().item.station
    if model is Fitting:
        return Fitting.objects.get(serial="lot 7")
    if model is Machine:
        return Check.objects.get().item.station.machine
    return model.objects.last()


def refused():
    """The database refuses, with the message of the triggers."""
    return pytest.raises(IntegrityError, match=MESSAGE)


def delete_row(record):
    with connection.cursor() as cursor:
        cursor.execute(f"DELETE FROM {record._meta.db_table} WHERE id = %s", [record.pk])


def copy_row(record):
    """Insert the same row once more, under a new id."""
    copy = type(record).objects.get(pk=record.pk)
    copy.pk = None
    copy.save(force_insert=True)


def test_every_frozen_table_is_tried_here():
    tried = [*CHANGES, *ISSUED]
    assert {rule.table for rule in rules()} == {model._meta.db_table for model in tried}


def not_refused(models, act):
    """The names of those models on which `act(model)` was not refused; all on one signed visit, as
    to make it takes longer than to try."""
    found = []
    for model in models:
        try:
            with refused(), transaction.atomic():
                act(model)
        except pytest.fail.Exception:
            found.append(model.__name__)
    return found


def test_what_was_issued_cannot_be_changed(issued):
    assert not_refused(ISSUED, lambda model: model.objects.update(**ISSUED[model])) == []


def test_what_was_issued_cannot_be_deleted(issued):
    assert not_refused(ISSUED, lambda model: delete_row(model.objects.last())) == []


def test_no_line_is_added_to_what_was_issued(issued):
    lines = [StatementLine, StatementTax, Charge, QuoteItem, QuoteLine]
    assert not_refused(lines, lambda model: copy_row(model.objects.last())) == []


def test_every_table_that_belongs_to_a_visit_is_frozen():
    frozen = {rule.table for rule in rules()}
    of_visits = {
        model._meta.db_table
        for model in apps.get_models()
        if any(f.related_model is Visit and not f.auto_created for f in model._meta.get_fields())
    }
    assert of_visits - NEVER_SIGNED <= frozen


def change(model):
    """Make the change of a model's record; returns what it asked for."""
    record = record_of(model)
    asked = change_of(model, record)
    model.objects.filter(pk=record.pk).update(**asked)
    return asked


def test_a_signed_record_cannot_be_changed(signed):
    before = {model: record_of(model) for model in ALL}
    assert not_refused(ALL, change) == []
    for model, record in before.items():
        there = model.objects.filter(pk=record.pk).values().get()
        assert there == {name: getattr(record, name) for name in there}, model


def test_a_signed_record_cannot_be_deleted(signed):
    assert not_refused(ALL, lambda model: delete_row(record_of(model))) == []


def test_nothing_is_added_to_what_was_signed(signed):
    assert not_refused(CLOSED_TO_ADDITIONS, lambda model: copy_row(record_of(model))) == []


def test_before_the_signature_a_record_can_be_changed(worked):
    for model in ALL:
        if model in (Signature, SignedRecord, Document):
            continue
        with transaction.atomic():
            pk = record_of(model).pk
            asked = change(model)
            there = model.objects.filter(pk=pk).values(*asked).get()
            transaction.set_rollback(True)
        assert there == asked, model


def test_before_the_signature_a_record_can_be_deleted(worked):
    delete_row(Reading.objects.last())
    delete_row(Adjustment.objects.last())
    assert not Adjustment.objects.exists()


def test_a_signed_visit_cannot_be_unsigned(signed):
    with refused(), transaction.atomic():
        Visit.objects.filter(pk=signed.pk).update(state="on site", signed_at=None)


def test_a_record_cannot_be_moved_into_a_signed_visit(signed, machine, contractor):
    later = VisitFactory(shop=signed.shop, firm=signed.firm, contractor=contractor)
    stray = record_adjustment(
        visit=later, station=machine.stations.first(), what="moved", made_by=contractor
    )
    with refused(), transaction.atomic():
        Adjustment.objects.filter(pk=stray.pk).update(visit=signed)


def test_a_record_cannot_be_moved_out_of_a_signed_visit(signed, contractor):
    later = VisitFactory(shop=signed.shop, firm=signed.firm, contractor=contractor)
    with refused(), transaction.atomic():
        Check.objects.all().update(visit=later)


def test_the_state_of_a_signed_incident_goes_on(signed):
    Incident.objects.update(state=Incident.State.CLOSED)
    assert Incident.objects.get().state == Incident.State.CLOSED


def test_an_answer_can_still_be_added_to_a_signed_recommendation(signed, owner):
    fit_advised(Recommendation.objects.get(), made_by=owner)
    assert RecommendationStep.objects.last().state == "fitted"


def test_a_line_of_the_sheet_that_no_signed_check_rests_on_can_still_change(signed, machine):
    untouched = item_of(machine, "back tools")
    AcceptanceItem.objects.filter(pk=untouched.pk).update(upper_um=Decimal("25"))
    untouched.refresh_from_db()
    assert untouched.upper_um == 25


def test_the_station_that_signed_checks_are_measured_from_stays(signed, machine):
    housing = station_of(machine, "guide bushing")
    Station.objects.filter(pk=housing.pk).update(name="housing", datum=housing.datum_id)
    other = station_of(machine, "gang tools")
    with refused(), transaction.atomic():
        Station.objects.filter(pk=housing.pk).update(datum=other)


def test_its_datum_may_go_on_under_a_new_line(signed, machine):
    housing = station_of(machine, "guide bushing")
    begin_new_line(housing.datum, plane_mm=5.0)
    housing.refresh_from_db()
    assert housing.datum.follows is not None


def test_a_machine_whose_checks_were_signed_is_saved_with_another_name(signed, machine):
    machine.name = "by the door"
    machine.save()
    machine.headstock_side = "right"
    with refused(), transaction.atomic():
        machine.save()


def test_a_row_cannot_be_replaced_under_its_own_id(signed):
    """SQLite's REPLACE deletes without asking the triggers unless it is told to."""
    if connection.vendor != "sqlite":
        pytest.skip("only SQLite has REPLACE")
    columns = [field.column for field in Visit._meta.concrete_fields]
    chosen = ["'changed'" if column == "purpose" else column for column in columns]
    with refused(), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(
            f"REPLACE INTO shop_visit ({', '.join(columns)}) "
            f"SELECT {', '.join(chosen)} FROM shop_visit WHERE id = %s",
            [signed.pk],
        )


def test_a_life_that_a_signed_visit_closed_stays_as_it_was_told(signed):
    with refused(), transaction.atomic():
        Fitting.objects.filter(from_the_start=True).update(fitted_at=timezone.now())
