"""The triage of an incident from its records, and the check list a visit carries from it."""

import io
from decimal import Decimal

import pypdf
import pytest
from django.urls import reverse
from django.utils import timezone

from alignment.incidents.services import log_incident_at
from alignment.incidents.triage import chain_of
from alignment.sweeps.services import save_check
from machines.engineering.triage_rules import EVENTS, SEVERITIES, STATION_KINDS
from machines.incidents.first_look import first_look
from machines.incidents.follow_up import tick_line
from machines.incidents.models import Incident
from machines.register.models import Station
from machines.visit_work.services import add_machine_to_visit
from shop.visits.reporting import build_report
from tests.factories import item_of, station_of, typed_sweep


@pytest.fixture
def log(machine, operator):
    """Logs an incident at stations of the kinds given."""

    def logged(*kinds, **account):
        told = {"kind": "hit", "severity": "hard", "may_run": False} | account
        return log_incident_at(
            machine=machine,
            stations=[station_of(machine, kind) for kind in kinds],
            made_by=operator,
            happened_at=timezone.now(),
            **told,
        )

    return logged


def test_what_can_be_logged_is_what_triage_knows():
    assert tuple(Incident.Kind.values) == EVENTS
    assert tuple(Incident.Severity.values) == SEVERITIES
    assert tuple(Station.Kind.values) == STATION_KINDS


def test_a_hit_sub_spindle_puts_what_hangs_on_it_in_doubt_and_the_headstock_is_checked_first(log):
    look = first_look(log("sub-spindle"))
    assert [one.subject for one in look.suspects] == ["sub-spindle", "back tool station"]
    assert [one.subject for one in look.order] == [
        "headstock spindle",
        "guide bushing housing",
        "sub-spindle",
        "back tool station",
    ]


@pytest.mark.parametrize(
    ("offset_um", "grade"),
    [
        ("12", "inside tolerance"),
        ("60", "several times the tolerance"),
        # A tenth of an inch, 2540 µm, against 15 µm: 169 times.
        ("2540", "far beyond the tolerance"),
        ("-2540", "far beyond the tolerance"),
    ],
)
def test_the_offset_is_graded_by_the_sheet_in_force(log, offset_um, grade):
    assert first_look(log("sub-spindle", offset_seen_um=Decimal(offset_um))).grade == grade


def test_a_tenth_of_an_inch_is_never_run_on_whatever_the_operator_said(log):
    look = first_look(log("sub-spindle", severity="touch", may_run=True, offset_seen_um="2540"))
    assert look.stop
    assert any(reason.startswith("Never run on") for reason in look.stop_reasons)


def test_a_station_s_tolerance_is_its_tightest(log):
    stations, hit = chain_of(log("gang tools"))
    tolerances = {station.kind: station.tolerance_um for station in stations}
    assert tolerances["gang tools"] == 15.0
    assert hit == ("gang tool slide",)


def test_a_belt_that_turns_the_hit_station_is_looked_at(log):
    """The guide bushing belt of the test machine runs from jack shaft to guide bushing."""
    look = first_look(log("guide bushing"))
    reasons = {one.subject: one.reason for one in look.parts}
    assert "carried the shock" in reasons["guide bushing belt"]


def test_the_triage_runs_a_fixed_number_of_queries(log, machine, django_assert_num_queries):
    incident = log("guide bushing", "sub-spindle")
    with django_assert_num_queries(5):
        first_look(Incident.objects.select_related("machine").get(pk=incident.pk))


def test_the_incident_s_page_gives_order_reasons_and_cautions(client, owner, log):
    client.force_login(owner)
    shown = client.get(log("sub-spindle", offset_seen_um="2540").get_absolute_url()).text
    for told in ("Check in this order", "Never run on", "Lock out and discharge", "It was hit."):
        assert told in shown


def test_a_visit_opened_from_an_incident_carries_the_order_as_its_check_list(
    client, contractor, log, machine
):
    incident = log("sub-spindle")
    client.force_login(contractor)
    url = f"{reverse('machines:open_visit', args=[machine.pk])}?incident={incident.pk}"
    data = {"incident": incident.pk, "purpose": "crash"}
    page = client.post(url, data, follow=True).text
    subjects = [one.subject for one in first_look(incident).order]
    lists = page[page.index("From the incident") :]
    places = [lists.index(subject.capitalize()) for subject in subjects]
    assert places == sorted(places)


def test_a_station_on_the_check_list_shows_that_it_is_measured(client, contractor, log, visit):
    incident = log("sub-spindle")
    add_machine_to_visit(visit, incident.machine, incident=incident)
    save_check(
        visit=visit,
        item=item_of(incident.machine, "sub-spindle"),
        phase="as found",
        sweep=typed_sweep(12, 5),
        made_by=contractor,
    )
    client.force_login(contractor)
    panels = client.get(visit.get_absolute_url()).context["panels"]
    (check_list,) = [one for one in panels if one.template.endswith("check_list.html")]
    states = {
        one["line"].subject: one["state"].word for one in check_list.context["lists"][0]["stations"]
    }
    assert states["sub-spindle"] == "measured"
    assert states["guide bushing housing"] == "not measured"


def test_the_report_says_what_was_looked_at_because_of_it(contractor, log, visit):
    incident = log("sub-spindle")
    visited = add_machine_to_visit(visit, incident.machine, incident=incident)
    tick_line(visited.check_lines.filter(what="part").first(), by=contractor, found="runs true")
    visit.refresh_from_db()
    pages = pypdf.PdfReader(io.BytesIO(build_report(visit))).pages
    text = " ".join(page.extract_text() for page in pages)
    assert "Looked at because of what happened" in text
    assert "runs true" in text
    assert "not looked at" in text
