"""A machine's history: one timeline from every source, newest first, page by page."""

from datetime import timedelta

import pytest

from machines.drive import inspecting
from machines.drive.services import fit_advised
from machines.incidents import services as incidents_services
from machines.incidents import stopping
from machines.visit_work import services as visit_work_services
from shop.hooks import Event, history, history_kinds
from shop.visits.services import open_visit
from tests import factories
from tests.pages import history_of as show


@pytest.fixture
def life(machine, operator, contractor, firm, owner):
    """A crash on the 3rd, a visit and a cracked belt on the 4th, a release on the 5th."""
    incident = incidents_services.log_incident(
        machine=machine,
        made_by=operator,
        happened_at=factories.at(3),
        what_hit="gang tool holder",
        hit_what="sub-spindle nose",
        severity="hard",
        may_run=False,
    )
    visit = open_visit(
        shop=machine.shop,
        firm=firm,
        contractor=contractor,
        purpose="after the crash",
        made_by=contractor,
        made_at=factories.at(4, 8),
    )
    visit_work_services.add_machine_to_visit(visit, machine, incident=incident)
    inspecting.inspect_belt(
        belt=machine.belts.first(),
        made_by=contractor,
        teeth={7: "cracked"},
        made_at=factories.at(4, 10),
    )
    fit_advised(machine.recommendations.get(), made_by=contractor, made_at=factories.at(4, 15))
    stopping.release_machine(machine, by=owner, reason="ran true", at=factories.at(5))
    return machine


def test_events_of_every_kind_stand_in_one_timeline_newest_first(client, owner, life):
    events = show(client, owner, life).context["events"]
    assert [event.kind for event in events] == [
        "incident looked at",
        "may run",
        "replacement fitted",
        "recommended",
        "belt inspection",
        "visit",
        "incident",
    ]


def test_a_release_names_its_reason_and_who_gave_it(owner, life):
    (event,) = history(life, limit=5, kind="standstills")
    assert (event.text, event.who) == ("ran true. Stopped for 2 d.", owner.name)


def test_a_stop_without_an_incident_has_a_line_of_its_own(machine):
    stopping.stop_machine(machine, at=factories.at(9))
    (event,) = history(machine, limit=5, kind="standstills")
    assert (event.title, event.when) == ("Stopped until looked at", factories.at(9))


def test_an_inspection_that_was_corrected_says_so(machine, operator):
    belt = machine.belts.first()
    first = inspecting.inspect_belt(belt=belt, made_by=operator, teeth={4: "worn"})
    inspecting.inspect_belt(belt=belt, made_by=operator, teeth={5: "worn"}, corrects=first)
    newer, older = history(machine, limit=5, kind="inspections")
    assert older.text.endswith("Corrected later.")
    assert not newer.text.endswith("Corrected later.")


@pytest.mark.parametrize("kind", ["", *history_kinds()])
def test_only_what_is_older_than_asked_is_told(life, kind):
    assert history(life, limit=9, kind=kind, before=factories.at(1)) == []


@pytest.mark.parametrize(
    "kind", ["incidents", "standstills", "visits", "replacements", "inspections"]
)
def test_what_is_older_than_asked_is_told_whole(life, kind):
    everything = history(life, limit=None, kind=kind)
    later = max(event.when for event in everything) + timedelta(seconds=1)
    assert history(life, limit=9, kind=kind, before=later) == everything != []


def test_the_newest_of_all_kinds_are_those_of_the_whole_timeline(life):
    everything = history(life, limit=None)
    for limit in range(1, len(everything) + 1):
        assert history(life, limit=limit) == everything[:limit]


def test_no_more_is_told_than_asked_for(machine, operator):
    for day in range(1, 6):
        stopping.stop_machine(machine, at=factories.at(day))
        stopping.release_machine(machine, by=operator, reason="seen", at=factories.at(day, 12))
    newest = history(machine, limit=3, kind="standstills")
    assert [(event.kind, event.when.day) for event in newest] == [
        ("may run", 5),
        ("stopped", 5),
        ("may run", 4),
    ]


def test_pages_follow_one_another_without_a_gap_or_a_repeat(client, owner, machine, monkeypatch):
    """Thirty events, three at a moment: a page never ends amid events of one moment."""
    moments = [factories.at(1) + timedelta(hours=n // 3) for n in range(30)]
    everything = [Event(when=when, kind="k", title=str(n)) for n, when in enumerate(moments)]

    def of(machine, *, limit, before=None, **asked):
        older = [event for event in reversed(everything) if before is None or event.when < before]
        return older[:limit]

    monkeypatch.setattr("machines.history.filters.history", of)
    monkeypatch.setattr("machines.history.views.history.EVENTS_ON_PAGE", 10)
    page = show(client, owner, machine).context
    events = page["events"]
    while page["older"]:
        page = show(client, owner, machine, before=page["older"].isoformat()).context
        events += page["events"]
    titles = [event.title for event in events]
    assert titles == [str(n) for n in reversed(range(30))]


def test_many_events_of_one_moment_share_a_page(client, owner, machine, monkeypatch):
    everything = [Event(when=factories.at(1), kind="k", title=str(n)) for n in range(60)]
    monkeypatch.setattr(
        "machines.history.filters.history",
        lambda machine, *, limit, before=None, **asked: everything[:limit],
    )
    shown = show(client, owner, machine).context
    assert len(shown["events"]) == 60
    assert shown["older"] is None


@pytest.mark.parametrize("moment", ["yesterday", "2025-03-01", "2025-03-01T10:00:00"])
def test_a_moment_that_is_none_is_not_found(client, owner, machine, moment):
    assert show(client, owner, machine, before=moment).status_code == 404


def test_the_link_to_earlier_events_leads_there(client, owner, machine):
    for day in range(1, 29):
        stopping.stop_machine(machine, at=factories.at(day))
        stopping.release_machine(machine, by=owner, reason="seen", at=factories.at(day, 12))
    first = show(client, owner, machine)
    older = first.context["older"]
    assert show(client, owner, machine, before=older.isoformat()).context["events"]
    assert "Earlier" in first.content.decode()
