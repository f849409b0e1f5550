"""The machines of a visit at the head of the service report, and the photos of what was found."""

from django.db.models import Prefetch

from shop.paper.documents import heading, key_values, paragraph, photo_grid

from .models import Machine


def visited(report):
    """The machines visited in the order they were taken up, with their axes, what happened to
    them, and photos; for `Report.once`."""
    machines = Machine.objects.with_stop_state().select_related("shop").prefetch_related("axes")
    here = report.visit.visited.select_related("incident__made_by")
    return list(here.prefetch_related("photos", Prefetch("machine", machines)))


def summary(report):
    """Each machine visited: what it is, how it stands, and what was found in words."""
    flowables = []
    for here in report.once(visited):
        flowables += [heading(f"Machine {here.machine}"), key_values(_facts(report, here.machine))]
        if here.findings:
            flowables += [heading("What was found", 2), paragraph(here.findings)]
    return flowables


def _facts(report, machine):
    named = [
        ("Model", machine.model_name),
        ("Serial number", machine.serial),
        ("Year built", machine.built and str(machine.built)),
        ("May run", _standing(report, machine)),
    ]
    return [(label, text) for label, text in named if text]


def _standing(report, machine):
    if machine.is_stopped:
        return f"no, stopped until looked at, since {report.when(machine.stopped_since)}"
    return "yes"


def photos(report):
    """What was found, in pictures, two beside each other."""
    flowables = []
    for here in report.once(visited):
        shown = [(photo.image, photo.caption) for photo in here.photos.all()]
        if shown:
            flowables += [heading(f"Photos of machine {here.machine}", 2), photo_grid(shown)]
    return flowables
