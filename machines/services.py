"""What changes machines, incidents, inspections and recommendations."""

from django.contrib.contenttypes.models import ContentType
from django.db import transaction
from django.utils import timezone

from machines.engineering.belts import summarise_teeth
from shop.errors import Refused
from shop.services import already_entered, for_work, identified

from .advice import advise
from .models import (
    BeltInspection,
    Evidence,
    Incident,
    IncidentPhoto,
    Recommendation,
    RecommendationStep,
    Standstill,
    ToothCondition,
    ToothFinding,
    VisitedMachine,
)


@transaction.atomic
def log_incident(*, machine, made_by, photos=(), entry_id=None, **account):
    """Log what happened at a machine; it stands stopped from then on unless it may run.

    photos: files that `machines.photos.clean_photo` made. account: the incident's other fields.
    """
    if incident := already_entered(Incident, entry_id):
        return incident
    if account["happened_at"] > timezone.now():
        raise Refused("The incident lies in the future; it must have happened already.")
    incident = Incident.objects.create(
        machine=machine, made_by=made_by, **account, **identified(entry_id)
    )
    for photo in photos:
        IncidentPhoto(incident=incident).image.save("photo.jpg", photo, save=True)
    if not incident.may_run:
        stop_machine(machine, incident=incident, at=incident.happened_at)
    return incident


@transaction.atomic
def stop_machine(machine, *, incident=None, at=None):
    """Stop a machine until somebody with the right says it may run; stopped stays stopped."""
    stop, _ = Standstill.objects.get_or_create(
        machine=machine,
        ended_at=None,
        defaults={"incident": incident, "began_at": at or timezone.now()},
    )
    return stop


@transaction.atomic
def release_machine(machine, *, by, reason, at=None):
    """Let a stopped machine run again, with the reason; the open incidents count as looked at."""
    stop = machine.standstills.select_for_update().filter(ended_at__isnull=True).first()
    if stop is None:
        raise Refused("This machine is not stopped.")
    if not reason.strip():
        raise Refused("Say why the machine may run again.")
    stop.ended_at = at or timezone.now()
    stop.ended_by = by
    stop.reason = reason.strip()
    stop.save()
    machine.incidents.filter(state=Incident.State.LOGGED).update(state=Incident.State.LOOKED_AT)
    return stop


@transaction.atomic
def bring_to_visit(visit, machine, *, incident=None):
    """Take a machine up at a visit, with the incident that called for it."""
    visit = for_work_unless_planned(visit)
    if machine.shop_id != visit.shop_id:
        raise Refused("This machine stands in another shop than the one visited.")
    if incident is not None and incident.machine_id != machine.pk:
        raise Refused("That incident is another machine's.")
    visited, _ = VisitedMachine.objects.get_or_create(
        visit=visit, machine=machine, defaults={"incident": incident}
    )
    return visited


@transaction.atomic
def bring_corrected_machines(correction):
    """Take up at a correction the machines of the visit it corrects, with their incidents."""
    for visited in correction.corrects.visited.select_related("machine", "incident"):
        bring_to_visit(correction, visited.machine, incident=visited.incident)


def for_work_unless_planned(visit):
    """Like `for_work`, but planning ahead does not count as having arrived."""
    return visit if visit.state == visit.State.PLANNED else for_work(visit)


@transaction.atomic
def note_findings(visited, text):
    """Write down in words what was found at a machine."""
    for_work(visited.visit)
    visited.findings = text.strip()
    visited.save(update_fields=["findings"])
    return visited


@transaction.atomic
def inspect_belt(
    *, belt, made_by, teeth, visit=None, note="", corrects=None, entry_id=None, made_at=None
):
    """Record one look at a belt and bring the recommendations up to date.

    teeth: tooth number to condition; teeth left out are sound.
    Raises Refused for a tooth the belt does not have, or a visit that was signed.
    """
    if inspection := already_entered(BeltInspection, entry_id):
        return inspection
    if visit is not None:
        visit = for_work(visit)
    try:
        summarise_teeth(belt.teeth, teeth)
    except ValueError as error:
        raise Refused(str(error)) from error
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
    recommend(belt.machine, visit=visit, made_by=made_by)
    return inspection


@transaction.atomic
def recommend(machine, *, visit, made_by):
    """Bring the rules' recommendations for a machine up to date; returns those of this visit.

    What the rules said earlier at the same, still open visit is replaced. What they said at an
    earlier visit and still say is renewed: the old one names the new one in its last step.
    """
    machine.recommendations.filter(visit=visit, steps__isnull=True).exclude(rule="").delete()
    return [_recommend(machine, visit, made_by, advice) for advice in advise(machine, visit)]


def _recommend(machine, visit, made_by, advice):
    earlier = list(
        machine.recommendations.open()
        .exclude(rule="")
        .filter(subject=advice.subject, what=advice.what)
    )
    same = [old for old in earlier if old.reason == advice.reason and old.visit == visit]
    if same:
        return same[0]
    new = Recommendation.objects.create(
        machine=machine,
        visit=visit,
        made_by=made_by,
        rule=advice.rule[:80],
        subject=advice.subject,
        what=advice.what,
        part=advice.part,
        quantity=advice.quantity,
        urgency=advice.urgency,
        by_date=advice.by_date,
        reason=advice.reason,
    )
    Evidence.objects.bulk_create(
        Evidence(
            recommendation=new,
            content_type=ContentType.objects.get_for_model(record),
            object_id=record.pk,
            sentence=sentence[:300],
        )
        for record, sentence in advice.evidence
    )
    for old in earlier:
        take_step(
            old,
            RecommendationStep.State.WITHDRAWN,
            made_by=made_by,
            note=f"renewed as no. {new.pk}",
        )
    return new


@transaction.atomic
def take_step(recommendation, state, *, made_by, note="", entry_id=None):
    """Add what became of a recommendation; a settled one takes no further step."""
    if step := already_entered(RecommendationStep, entry_id):
        return step
    locked = Recommendation.objects.select_for_update().get(pk=recommendation.pk)
    if locked.steps.filter(state__in=RecommendationStep.SETTLED).exists():
        raise Refused("This recommendation is settled already.")
    needs_reason = {RecommendationStep.State.DECLINED, RecommendationStep.State.DEFERRED}
    if state in needs_reason and not note.strip():
        raise Refused("Say why: a declined or deferred replacement keeps its reason.")
    return RecommendationStep.objects.create(
        recommendation=locked,
        state=state,
        made_by=made_by,
        note=note.strip(),
        **identified(entry_id),
    )
