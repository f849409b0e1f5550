"""Two years of the demo's visits, made in the order in which they happened."""

from datetime import timedelta

from alignment.sheets.models import AcceptanceItem
from machines.drive.recommending import take_step
from machines.incidents.stopping import release_machine
from machines.visit_work.services import add_machine_to_visit, note_findings
from shop.visits.services import arrive, issue_report, note_come_back, open_visit, sign_visit

from .crashes import first_crash, second_crash
from .sweeping import enter_indicators
from .truth import Truth
from .visits import NEXT_ROUND, VISITS
from .work import Clock, Work, look_at_parts, open_advice, work_on

OWNERS = {"quarlow": "owner", "pintlow": "ned"}
FIRST_SEED = 410
OPENED_DAYS_BEFORE = 12


def tell(scene):
    """Make the visits, the crash between them, and what is open today."""
    enter_indicators(scene.firm, scene.now.date())
    truths = {
        number: _truth(machine, FIRST_SEED + place)
        for place, (number, machine) in enumerate(scene.machines.items())
    }
    last = {}
    for planned in VISITS:
        for number in planned.machines:
            truths[number].age(last.get(number, planned.days_ago) - planned.days_ago)
            last[number] = planned.days_ago
        incident = first_crash(scene, truths["1"]) if planned.after_crash else None
        _make_visit(scene, planned, truths, incident)
    second_crash(scene)
    _plan_next_round(scene)


def _truth(machine, seed):
    """A machine that starts where its factory left it."""
    start_um = {}
    for item in AcceptanceItem.objects.filter(station__machine=machine).select_related("station"):
        if item.is_tilt:
            continue
        size = abs(float(item.factory_um))
        start_um[item.station.kind] = size / 2 if item.quantity == "tir" else size
    return Truth(list(machine.stations.select_related("datum")), start_um, seed)


def _make_visit(scene, planned, truths, incident):
    """Arrive, work on each machine, hear the owner, sign, and issue the report."""
    contractor, owner = scene.people["contractor"], scene.people[OWNERS[planned.shop]]
    clock = Clock(scene.moment(scene.shops[planned.shop], planned.days_ago, "07:40"))
    visit = _open(scene, planned, clock.now.date(), incident)
    arrive(visit, at=clock.now)
    for number in planned.machines:
        machine = scene.machines[number]
        visited = add_machine_to_visit(visit, machine, incident=incident)
        work_on(Work(planned, visit, machine, truths[number], clock, contractor))
        look_at_parts(visited, contractor, clock)
        if number in planned.findings:
            note_findings(visited, planned.findings[number])
    for answer in planned.answers:
        advice = open_advice(scene.machines[answer.machine], answer.subject)
        at = clock.after(3)
        who = contractor if answer.state == "ordered" else owner
        take_step(advice, answer.state, made_by=who, note=answer.note, made_at=at)
    if incident:
        reason = "realigned and measured within the factory's limits"
        release_machine(incident.machine, by=contractor, reason=reason, at=clock.after(5))
    if planned.come_back_for:
        note_come_back(visit, planned.come_back_for)
    _sign(visit, contractor, owner, clock.after(12))


def _open(scene, planned, day, incident):
    """Open a visit: at the desk some days ahead, or on the call that follows a crash."""
    shop = scene.shops[planned.shop]
    if incident:
        made_at = incident.made_at + timedelta(minutes=50)
    else:
        made_at = scene.moment(shop, planned.days_ago + OPENED_DAYS_BEFORE, "16:10")
    return open_visit(
        shop=shop,
        firm=scene.firm,
        contractor=scene.people["contractor"],
        made_by=scene.people["contractor"],
        purpose=planned.purpose,
        planned_for=day,
        made_at=made_at,
    )


def _sign(visit, contractor, owner, at):
    names = {
        "contractor": (contractor.name, "service contractor"),
        "customer": (owner.name, "owner"),
    }
    signed = sign_visit(visit, **names, at=at)
    issue_report(signed, at=at + timedelta(minutes=1))


def _plan_next_round(scene):
    """The next round at the other shop stands in the calendar."""
    today = scene.now.astimezone(scene.shops[NEXT_ROUND.shop].zone).date()
    visit = _open(scene, NEXT_ROUND, today - timedelta(days=NEXT_ROUND.days_ago), None)
    for number in NEXT_ROUND.machines:
        add_machine_to_visit(visit, scene.machines[number])
