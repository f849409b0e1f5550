"""The machines of a visit at the head of the service report, and the photos of what was found."""

from django.db.models import Prefetch

from shop.paper.documents import heading, paragraph, photo_grid

from .models import Machine


def visited(report):
    """The machines visited in the order they were taken up, with their axes, what happened to
    them, and photos; for `Report.once`."""
    machines = Machine.objects.with_stop_state().select_related("shop").prefetch_related("axes")
    here = report.visit.visited.select_related("incident__made_by")
    return list(here.prefetch_related("photos", Prefetch("machine", machines)))


def facts(machine):
    """What the machine is, on one line: model, serial number, year built; "" for none known."""
    named = [
        machine.model_name,
        machine.serial and f"serial number {machine.serial}",
        machine.built and f"built {machine.built}",
    ]
    return ", ".join(text for text in named if text)


def findings(report):
    """What was found at each machine, in words."""
    flowables = []
    for here in report.once(visited):
        if here.findings:
            told = f"What was found at machine {here.machine}"
            flowables += [heading(told), paragraph(here.findings)]
    return flowables


def photos(report):
    """What was found, in pictures, two beside each other."""
    flowables = []
    for here in report.once(visited):
        shown = [(photo.image, photo.caption) for photo in here.photos.all()]
        if shown:
            flowables += [heading(f"Photos of machine {here.machine}", 2), photo_grid(shown)]
    return flowables
