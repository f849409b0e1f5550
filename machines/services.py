"""What changes machines, incidents, inspections and recommendations."""

from decimal import Decimal

from django.contrib.contenttypes.models import ContentType
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from machines.engineering.belts import PROFILES, summarise_teeth
from machines.engineering.meters import MeterReading as Counted
from machines.engineering.meters import accumulate
from shop.errors import Refused
from shop.models import Visit
from shop.moments import passed
from shop.services import entered_once, for_work, identified

from .advice import advise
from .drive.tension import worked_out
from .firstlook import first_look
from .followup import close_what_is_done, count_as_looked_at, write_check_list
from .models import (
    Belt,
    BeltInspection,
    Evidence,
    Incident,
    IncidentPhoto,
    Machine,
    MeterReading,
    Recommendation,
    RecommendationStep,
    Standstill,
    ToothCondition,
    ToothFinding,
    VisitedMachine,
)
from .notices import tell_it_stopped

# What settles a recommendation by what somebody decided or did.
State = RecommendationStep.State
ANSWERED = [State.DECLINED, State.FITTED, State.DONE]


@entered_once(Incident)
def log_incident(*, machine, made_by, photos=(), entry_id=None, **account):
    """Log what happened at a machine; it stands stopped from then on unless it may run.

    photos: files that `machines.photos.clean_photo` made. account: the incident's other fields.
    """
    account["happened_at"] = passed(account["happened_at"], machine.shop.zone)
    incident = Incident.objects.create(
        machine=machine, made_by=made_by, **account, **identified(entry_id)
    )
    for photo in photos:
        IncidentPhoto(incident=incident).image.save("photo.jpg", photo, save=True)
    if not incident.may_run:
        stop_machine(machine, incident=incident, by=made_by, at=incident.happened_at)
    return incident


@transaction.atomic
def stop_machine(machine, *, incident=None, by=None, at=None):
    """Stop a machine until somebody with the right says it may run; stopped stays stopped.

    The shop's owners are mailed when it stops.
    """
    stop, is_new = Standstill.objects.get_or_create(
        machine=machine,
        ended_at=None,
        defaults={"incident": incident, "began_at": at or timezone.now()},
    )
    if is_new:
        tell_it_stopped(stop, by=by)
    return stop


@transaction.atomic
def release_machine(machine, *, by, reason, at=None):
    """Let a stopped machine run again, with the reason.

    Its logged incidents count as looked at; those a signed visit settled are closed.
    """
    stop = machine.standstills.select_for_update().filter(ended_at__isnull=True).first()
    if stop is None:
        raise Refused("This machine is not stopped.")
    if not reason.strip():
        raise Refused("Say why the machine may run again.")
    stop.ended_at = at or timezone.now()
    stop.ended_by = by
    stop.reason = reason.strip()
    stop.save()
    logged = machine.incidents.filter(state=Incident.State.LOGGED)
    count_as_looked_at(logged, by=by, at=stop.ended_at)
    close_what_is_done(machine, by=by, at=stop.ended_at)
    return stop


@transaction.atomic
def look_at_incidents(visit):
    """After a visit is signed the incidents it was called for were looked at.

    They are closed with it, unless there is something to come back for, the machine still stands,
    or nobody wrote down what was found.
    """
    by, at = visit.contractor, visit.signed_at
    for visited in visit.visited.exclude(incident=None).select_related("machine", "incident"):
        count_as_looked_at([visited.incident], by=by, found=visited.findings, at=at)
        if not visited.machine.is_stopped:
            close_what_is_done(visited.machine, by=by, at=at)


@transaction.atomic
def bring_to_visit(visit, machine, *, incident=None):
    """Take a machine up at a visit, with the incident that called for it and its check list."""
    visit = for_work_unless_planned(visit)
    if machine.shop_id != visit.shop_id:
        raise Refused("This machine stands in another shop than the one visited.")
    if incident is not None and incident.machine_id != machine.pk:
        raise Refused("That incident is another machine's.")
    visited, _ = VisitedMachine.objects.get_or_create(visit=visit, machine=machine)
    if incident is not None and visited.incident_id is None:
        visited.incident = incident
        visited.save(update_fields=["incident"])
        triage = first_look(incident) if visit.corrects_id is None else None
        if triage is not None:
            write_check_list(visited, triage)
    return visited


@transaction.atomic
def bring_corrected_machines(correction):
    """Take up at a correction the machines of the visit it corrects, with their incidents."""
    for visited in correction.corrects.visited.select_related("machine", "incident"):
        bring_to_visit(correction, visited.machine, incident=visited.incident)


def for_work_unless_planned(visit):
    """Like `for_work`, but planning ahead does not count as having arrived."""
    state = Visit.objects.select_for_update().values_list("state", flat=True).get(pk=visit.pk)
    return visit if state == Visit.State.PLANNED else for_work(visit)


@transaction.atomic
def note_findings(visited, text):
    """Write down in words what was found at a machine."""
    for_work(visited.visit)
    visited.findings = text.strip()
    visited.save(update_fields=["findings"])
    return visited


def _learn(belt, learnt):
    """The belt with what a look told of it besides its teeth's condition; a known profile tells the
    pitch too."""
    belt = Belt.objects.select_for_update().select_related("machine").get(pk=belt.pk)
    told = {name: value for name, value in learnt.items() if name in belt.unknown}
    for name, value in told.items():
        setattr(belt, name, value)
    profile = PROFILES.get(belt.profile)
    if belt.pitch_mm is None and profile:
        belt.pitch_mm = Decimal(str(profile.pitch_mm))
    try:
        belt.clean()
    except ValidationError as error:
        raise Refused(" ".join(error.messages)) from error
    belt.save()
    return belt


@entered_once(BeltInspection)
def inspect_belt(
    *,
    belt,
    made_by,
    teeth,
    visit=None,
    note="",
    measured=None,
    corrects=None,
    learnt=None,
    entry_id=None,
    made_at=None,
):
    """Record one look at a belt and bring the recommendations up to date.

    teeth: tooth number to condition; teeth left out are sound. measured: a
    `machines.drive.tension.Measured` when its tension was measured. learnt: what was not known of
    the belt, by the names of its fields; what is known by now stays.
    Raises Refused for a tooth the belt does not have, a tension that cannot be worked out, a visit
    that was signed or is another shop's, and a correction of another belt's inspection or of one
    that was corrected before.
    """
    if visit is not None:
        visit = for_work(visit)
        bring_to_visit(visit, belt.machine)
    if corrects is not None and corrects.belt_id != belt.pk:
        raise Refused("That inspection is another belt's.")
    refuse_second_correction(corrects)
    if learnt:
        belt = _learn(belt, learnt)
    if belt.teeth is None:
        raise Refused("Nobody has counted this belt's teeth yet; say how many it has.")
    try:
        summarise_teeth(belt.teeth, teeth)
    except ValueError as error:
        raise Refused(str(error)) from error
    tension = worked_out(belt, measured) if measured else None
    inspection = BeltInspection.objects.create(
        belt=belt,
        visit=visit,
        made_by=made_by,
        note=note,
        corrects=corrects,
        made_at=made_at or timezone.now(),
        **identified(entry_id),
    )
    ToothFinding.objects.bulk_create(
        ToothFinding(inspection=inspection, tooth=tooth, condition=condition)
        for tooth, condition in sorted(teeth.items())
        if condition != ToothCondition.SOUND
    )
    if tension is not None:
        tension.inspection = inspection
        tension.save()
    recommend(belt.machine, visit=visit, made_by=made_by, made_at=inspection.made_at)
    return inspection


def refuse_second_correction(record):
    """A record is corrected once; whoever finds the correction wrong corrects the correction."""
    if record is not None and hasattr(record, "corrected_by"):
        raise Refused(
            "That record was corrected already; correct the newer one, which stands in its place."
        )


@transaction.atomic
def recommend(machine, *, visit, made_by, made_at=None):
    """Bring the rules' recommendations for a machine up to date; returns those of this visit.

    At a visit they follow what the rules say: brought up to date, or taken back when no rule says
    them any longer. One of an earlier visit that the rules still say is renewed, keeping what the
    owner answered. What was fitted or declined is not raised again on the same evidence.
    """
    made_at = made_at or timezone.now()
    said = [advice for advice in advise(machine, visit) if not _settled(machine, advice)]
    _take_back(machine, visit, said, made_by=made_by, made_at=made_at)
    return [_recommend(machine, visit, advice, made_by, made_at) for advice in said]


def _settled(machine, advice):
    """Whether the same was fitted or declined on evidence that holds all of this advice's."""
    rests_on = {_key(record) for record, _sentence in advice.evidence}
    settled = machine.recommendations.filter(
        subject=advice.subject, what=advice.what, steps__state__in=ANSWERED
    )
    return any(
        rests_on <= {(e.content_type_id, e.object_id) for e in old.evidence.all()}
        for old in settled.prefetch_related("evidence")
    )


def _key(record):
    return ContentType.objects.get_for_model(record).pk, record.pk


def _take_back(machine, visit, said, *, made_by, made_at):
    """Take back what the rules said at this visit and say no longer."""
    still = {(advice.subject, advice.what) for advice in said}
    for old in machine.recommendations.open().filter(visit=visit).exclude(rule=""):
        if (old.subject, old.what) in still:
            continue
        if old.steps.exists():
            take_step(
                old,
                State.WITHDRAWN,
                made_by=made_by,
                note="no longer found",
                made_at=made_at,
            )
        else:
            old.delete()


def _recommend(machine, visit, advice, made_by, made_at):
    """This visit's recommendation for one piece of advice, new, renewed or brought up to date."""
    same = {"subject": advice.subject, "what": advice.what}
    earlier = list(
        machine.recommendations.open().exclude(rule="").filter(**same).select_related("visit")
    )
    here = next((old for old in earlier if old.visit == visit), None)
    if here and (here.reason == advice.reason or (visit and not here.steps.exists())):
        return _write(here, advice)
    new = Recommendation(machine=machine, visit=visit, made_by=made_by, made_at=made_at, **same)
    _write(new, advice)
    for old in earlier:
        _renew(old, new, made_by, made_at)
    return new


def _write(recommendation, advice):
    """Let a recommendation say what the advice says, evidence included."""
    recommendation.rule = advice.rule[:80]
    recommendation.part = advice.part
    recommendation.belt = advice.belt
    recommendation.bearing = advice.bearing
    recommendation.safety_relevant = advice.safety_relevant
    recommendation.quantity = advice.quantity
    recommendation.urgency = advice.urgency
    recommendation.by_date = advice.by_date
    recommendation.reason = advice.reason
    recommendation.save()
    recommendation.evidence.all().delete()
    Evidence.objects.bulk_create(
        Evidence(recommendation=recommendation, record=record, sentence=sentence[:300])
        for record, sentence in advice.evidence
    )
    return recommendation


def _renew(old, new, made_by, made_at):
    """Let `new` stand for `old`, and carry over what was answered.

    To put off or to decline holds for the same reason only; what was approved or ordered stays so.
    """
    answer = old.steps.last()
    agreed = answer is not None and answer.state in (State.APPROVED, State.ORDERED)
    if answer is not None and (agreed or old.reason == new.reason):
        take_step(
            new,
            answer.state,
            made_by=answer.made_by,
            note=answer.note,
            made_at=answer.made_at,
            carried_over=answer,
        )
    at_visit = f" at visit {new.visit.number}" if new.visit else ""
    take_step(
        old,
        State.WITHDRAWN,
        made_by=made_by,
        note=f"renewed{at_visit}",
        made_at=made_at,
    )


@entered_once(RecommendationStep)
def take_step(
    recommendation,
    state,
    *,
    made_by,
    note="",
    fitting=None,
    carried_over=None,
    told=None,
    price=None,
    entry_id=None,
    made_at=None,
):
    """Add what became of a recommendation; a settled one takes no further step.

    told: the `ToldAnswer` it stands in, where the owner did not enter it; price: of one, where
    another was agreed than the register has.

    fitting: what was fitted, with 'fitted' of a belt or bearing. An approval keeps the price that
    was approved. carried_over: the same answer to an earlier recommendation, whose price it keeps.
    """
    locked = Recommendation.objects.select_for_update().get(pk=recommendation.pk)
    refuse_settled(locked)
    needs_reason = {State.DECLINED, State.DEFERRED}
    if state in needs_reason and not note.strip():
        raise Refused("Say why: a declined or deferred replacement keeps its reason.")
    if state == State.FITTED and locked.place is not None and fitting is None:
        raise Refused("Say what was fitted, so that the life of the old one closes.")
    agreed = carried_over.unit_price if carried_over else _price_agreed(locked, state)
    if price is not None and state == State.APPROVED:
        agreed = price
    return RecommendationStep.objects.create(
        recommendation=locked,
        state=state,
        made_by=made_by,
        note=note.strip(),
        fitting=fitting,
        unit_price=agreed,
        told=told or (carried_over and carried_over.told),
        made_at=made_at or timezone.now(),
        **identified(entry_id),
    )


def refuse_settled(recommendation):
    """Raise Refused when nothing more can become of a recommendation."""
    if recommendation.steps.filter(state__in=RecommendationStep.SETTLED).exists():
        raise Refused("This recommendation is settled already.")


def _price_agreed(recommendation, state):
    """The price of one that an approval agrees to, and that an order keeps.

    Raises Refused for an order of what was not approved.
    """
    if state == State.APPROVED and recommendation.part is not None:
        return recommendation.part.price
    if state != State.ORDERED:
        return None
    last = recommendation.steps.last()
    if last is None or last.state != State.APPROVED:
        raise Refused("The owner has not approved it; what is ordered was approved first.")
    return last.unit_price


@entered_once(MeterReading)
def read_meter(
    *, machine, made_by, value, read_at, kind=None, new_meter=False, visit=None, entry_id=None
):
    """Record what a meter showed; raises Refused when it would go down or lies in the future."""
    if visit is not None:
        visit = for_work(visit)
        bring_to_visit(visit, machine)
    read_at = passed(read_at, machine.shop.zone)
    kind = kind or MeterReading.Kind.SPINDLE_HOURS
    one_reader_at_a_time([machine])
    if machine.meter_readings.counted().filter(kind=kind, read_at=read_at).exists():
        raise Refused("There is a reading of this meter at that moment already.")
    reading = MeterReading.objects.create(
        machine=machine,
        visit=visit,
        kind=kind,
        read_at=read_at,
        value=value,
        new_meter=new_meter,
        made_by=made_by,
        **identified(entry_id),
    )
    refuse_going_down(machine, kind)
    return reading


def one_reader_at_a_time(machines):
    """Lock the machines until the transaction ends: of two readings entered at the same moment,
    each held against those before, the second must see the first."""
    rows = Machine.objects.select_for_update(no_key=True, of=("self",)).order_by("pk")
    list(rows.filter(pk__in=[machine.pk for machine in machines]).values_list("pk"))


def refuse_going_down(machine, kind):
    """Raise Refused when a machine's meter goes down without being marked as a new one."""
    try:
        meter_totals(machine, kind)
    except ValueError as error:
        raise Refused(f"Machine {machine.number}, {kind}. {error}") from error


def meter_totals(machine, kind=MeterReading.Kind.SPINDLE_HOURS):
    """What a machine's meter counted since its first reading, over all meters; one query."""
    return accumulate(map(counted, machine.meter_readings.counted().filter(kind=kind)))


def counted(reading):
    """A stored reading as the arithmetic takes it."""
    return Counted(reading.read_at, float(reading.value), reading.new_meter)
