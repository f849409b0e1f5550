"""What changes the machines of a visit: joining it, findings and their photos, meters read
there."""

from django.db import transaction

from machines.incidents.first_look import first_look
from machines.incidents.follow_up import write_check_list
from machines.register.meters import one_reader_at_a_time, refuse_going_down
from machines.register.models import FindingPhoto, MeterReading, VisitedMachine
from shop.visits.models import Visit
from shop.visits.services import for_work
from shop.web.entries import entered_once, identified
from shop.web.errors import Refused
from shop.web.moments import passed


@entered_once(FindingPhoto)
def add_photo(*, visited, image, caption, made_by, entry_id=None):
    """Keep a photo of what was found; `image` is a file that
    `machines.register.photos.clean_photo` made."""
    for_work(visited.visit)
    photo = FindingPhoto(
        visited=visited, caption=caption.strip(), made_by=made_by, **identified(entry_id)
    )
    photo.image.save("photo.jpg", image, save=False)
    photo.save()
    return photo


@transaction.atomic
def remove_photo(photo):
    """Take a photo back while its visit is not signed."""
    for_work(photo.visited.visit)
    photo.delete()


@transaction.atomic
def add_machine_to_visit(visit, machine, *, incident=None):
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
        add_machine_to_visit(correction, visited.machine, incident=visited.incident)


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


@entered_once(MeterReading)
def read_meter(
    *, machine, made_by, value, read_at, kind=None, new_meter=False, visit=None, entry_id=None
):
    """Record what a meter showed; raises Refused when it would go down or lies in the future."""
    if visit is not None:
        visit = for_work(visit)
        add_machine_to_visit(visit, machine)
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
