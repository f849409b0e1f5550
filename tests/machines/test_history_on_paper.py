"""A machine's history as a document: what stands in it, that it is issued once and can be checked,
and who may."""

import hashlib
import uuid
from datetime import date
from io import BytesIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pypdf import PdfReader

from alignment.adjusting.services import record_adjustment
from alignment.drift.estimates import drift_of
from alignment.drift.words import outlook_words, speed_words
from alignment.sweeps.models import Check
from alignment.sweeps.services import save_check
from machines.drive import inspecting
from machines.drive.services import fit_advised
from machines.history.issued import build_history, issue_history
from machines.history.models import IssuedHistory
from machines.incidents import services as incidents_services
from machines.incidents import stopping
from machines.register.models import Machine, ServiceBreak
from machines.visit_work import services as visit_work_services
from shop.paper.models import Document
from shop.visits.models import Visit
from shop.visits.services import open_visit
from tests import factories


@pytest.fixture
def life(machine, operator, contractor, firm, owner):
    """A crash, two visits with checks and an adjustment, a cracked belt fitted anew, another
    advised, a break out of service."""
    incidents_services.log_incident(
        machine=machine,
        made_by=operator,
        happened_at=factories.at(3),
        what_hit="gang tool holder",
        hit_what="sub-spindle nose",
        severity="hard",
        may_run=False,
    )
    stopping.release_machine(machine, by=owner, reason="ran true", at=factories.at(5))
    bore = factories.item_of(machine, "guide bushing")
    for day, up_um in ((4, 30), (20, 12)):
        visit = open_visit(
            shop=machine.shop, firm=firm, contractor=contractor, purpose="check", made_by=contractor
        )
        visit_work_services.add_machine_to_visit(visit, machine)
        Visit.objects.filter(pk=visit.pk).update(state="on site", arrived_at=factories.at(day))
        visit.refresh_from_db()
        measure(visit, bore, Check.Phase.AS_FOUND, up_um, day, 10)
        record_adjustment(
            visit=visit,
            station=bore.station,
            what="brought over with the jack screws",
            made_by=contractor,
            made_at=factories.at(day, 11),
        )
        measure(visit, bore, Check.Phase.AS_LEFT, 2, day, 12)
    first, second = machine.belts.all()
    for belt, day in ((first, 4), (second, 20)):
        inspecting.inspect_belt(
            belt=belt, made_by=contractor, teeth={7: "cracked"}, made_at=factories.at(day, 13)
        )
    advice = machine.recommendations.filter(belt=first).latest("made_at")
    fit_advised(advice, made_by=contractor, made_at=factories.at(21))
    ServiceBreak.objects.create(
        machine=machine,
        out_on=date(2025, 4, 1),
        reason="no work for it",
        made_by=owner,
        back_on=date(2025, 4, 9),
        back_reason="an order came in",
        back_by=owner,
        back_at=factories.at(9, month=4),
    )
    return machine


def measure(visit, item, phase, up_um, day, hour):
    save_check(
        visit=visit,
        item=item,
        phase=phase,
        sweeps=[factories.typed_sweep(0, up_um)],
        made_by=visit.contractor,
        made_at=factories.at(day, hour),
    )


def pages(content):
    return [" ".join(page.extract_text().split()) for page in PdfReader(BytesIO(content)).pages]


def printed(machine, person, **more):
    content = build_history(
        machine, number="MH-1", made_by=person, at=factories.at(1, month=5), **more
    )
    return pages(content)


def test_the_first_page_is_the_title_page_alone(life, owner):
    first, second = printed(life, owner)[:2]
    assert "Machine history" in first
    assert "M1 slider 20 mm" in first
    assert "Visits 2" in first
    assert "Chain of stations" not in first
    assert "Chain of stations" in second


@pytest.mark.parametrize(
    "said",
    [
        "guide bushing housing headstock spindle",  # the chain
        "Guide bushing housing: bore to the headstock axis",
        "30.0 µm",  # found at the first visit
        "10.0 µm",  # from 2 left then to 12 found later
        "Drift between the visits",
        "brought over with the jack screws",
        "Gang tool holder hit sub-spindle nose",
        "Hours stopped",
        "48.0",  # from the 3rd to the 5th
        "Out of service from 1 Apr 2025 until 9 Apr 2025 (an order came in): no work for it.",
        "1 of 90 teeth not sound: 7 cracked",
        "still in the machine",
        "Replace the guide bushing belt",
    ],
)
def test_what_is_on_record_is_printed(life, owner, said):
    life.shop.length_unit = "um"
    assert said.lower() in " ".join(printed(life, owner)).lower()


def test_nothing_is_told_of_what_came_later(life, owner, operator):
    incidents_services.log_incident(
        machine=life,
        made_by=operator,
        happened_at=factories.at(2, month=5),
        kind="leak",
        place="coolant tank",
        may_run=True,
    )
    assert "coolant tank" not in " ".join(printed(life, owner))


def test_drift_is_told_of_what_two_visits_measured(life, owner):
    """Left at 2 µm on the 4th, found at 12 on the 20th: 10 µm upwards, and two visits alone do not
    tell a rate's interval."""
    life.shop.length_unit = "um"
    (row,) = [one for one in drift_of(life) if one.moves]
    text = " ".join(printed(life, owner))
    assert " ".join(speed_words(row, "um").split()) in text
    assert " ".join(outlook_words(row).split()) in text


def test_without_two_visits_there_is_no_drift_to_tell(machine, owner):
    assert "Drift between the visits" not in " ".join(printed(machine, owner))


def test_a_machine_nothing_happened_to_prints_too(machine, owner):
    text = " ".join(printed(machine, owner))
    assert "None is on record." in text
    assert "No advice is open." in text


def test_what_was_moved_on_purpose_is_not_told_as_drift(life, owner, contractor):
    """An adjustment after the last check leaves nothing to compare the next one with."""
    bore = factories.item_of(life, "guide bushing")
    visit = Visit.objects.latest("arrived_at")
    record_adjustment(
        visit=visit,
        station=factories.station_of(life, "headstock"),
        what="turned",
        made_by=contractor,
        made_at=factories.at(20, 13),
    )
    later = factories.VisitFactory(
        shop=life.shop, firm=visit.firm, contractor=contractor, arrived_at=factories.at(25)
    )
    measure(later, bore, Check.Phase.AS_FOUND, 5, 25, 10)
    assert "not known: moved after it was measured" in " ".join(printed(life, owner))


def test_the_contractor_s_is_on_the_firm_s_paper_the_owner_s_on_the_shop_s(life, owner, firm):
    assert firm.name in printed(life, owner, firm=firm)[0]
    assert firm.name not in printed(life, owner)[0]


def test_it_is_stored_with_the_sha_256_of_its_file(life, owner):
    document = issue_history(life, made_by=owner).document
    content = document.file.read()
    assert hashlib.sha256(content).hexdigest() == document.sha256
    assert document.kind == Document.Kind.HISTORY
    assert document.code in " ".join(pages(content))


def test_two_of_a_day_have_two_numbers(life, owner):
    numbers = [issue_history(life, made_by=owner).document.number for _ in range(2)]
    assert numbers[1] == f"{numbers[0]}-2"


def test_a_number_with_a_slash_makes_a_file_all_the_same(machine, owner):
    machine.number = "3/4"
    machine.save()
    assert issue_history(machine, made_by=owner).document.number.startswith("MH-34-")


def issue(client, person, machine, **typed):
    client.force_login(person)
    return client.post(reverse("machines:issue_history", args=[machine.pk]), typed)


@pytest.mark.parametrize(
    ("role", "status"), [("owner", 302), ("contractor", 302), ("operator", 403), ("stranger", 404)]
)
def test_owner_and_contractor_issue_it(client, request, life, role, status):
    answer = issue(client, request.getfixturevalue(role), life)
    assert answer.status_code == status
    assert IssuedHistory.objects.count() == (status == 302)


def test_the_contractor_s_belongs_to_the_firm(client, contractor, life, firm):
    issue(client, contractor, life)
    assert IssuedHistory.objects.get().document.firm == firm


def test_a_form_sent_twice_issues_one(client, owner, life):
    entry_id = uuid.uuid4()
    issue(client, owner, life, entry_id=entry_id)
    issue(client, owner, life, entry_id=entry_id)
    assert Document.objects.count() == 1


def test_looking_at_the_question_issues_nothing(client, owner, life):
    client.force_login(owner)
    page = client.get(reverse("machines:issue_history", args=[life.pk]))
    assert page.status_code == 200
    assert not Document.objects.exists()


def test_the_history_page_lists_what_was_issued(client, owner, operator, life):
    document = issue_history(life, made_by=owner).document
    client.force_login(operator)
    text = client.get(reverse("machines:history", args=[life.pk])).content.decode()
    assert document.get_absolute_url() in text
    assert reverse("shop:check", args=[document.code]) in text
    assert reverse("machines:issue_history", args=[life.pk]) not in text


def test_its_file_opens_for_the_shop_and_for_nobody_else(client, operator, stranger, life, owner):
    document = issue_history(life, made_by=owner).document
    client.force_login(operator)
    assert client.get(document.get_absolute_url()).status_code == 200
    client.force_login(stranger)
    assert client.get(document.get_absolute_url()).status_code == 404


def test_anybody_can_check_the_owner_s_file(client, life, owner):
    document = issue_history(life, made_by=owner).document
    address = reverse("shop:check", args=[document.code])
    content = document.file.read()
    page = client.post(address, {"file": SimpleUploadedFile("history.pdf", content)})
    assert page.context["same"] is True
    assert life.shop.name in page.content.decode()
    page = client.post(address, {"file": SimpleUploadedFile("history.pdf", content + b" ")})
    assert page.context["same"] is False


def test_it_costs_the_same_however_much_happened(life, owner, operator):
    few = queries_of(life, owner)
    for day in range(1, 25):
        incidents_services.log_incident(
            machine=life,
            made_by=operator,
            happened_at=factories.at(day, month=4),
            kind="noise",
            may_run=True,
        )
        inspecting.inspect_belt(
            belt=life.belts.first(), made_by=operator, teeth={}, made_at=factories.at(day, month=4)
        )
    assert queries_of(life, owner) == few <= 60


def queries_of(machine, person):
    anew = Machine.objects.get(pk=machine.pk)
    with CaptureQueriesContext(connection) as ran:
        build_history(anew, number="MH-1", made_by=person, at=factories.at(1, month=5))
    return len(ran)
