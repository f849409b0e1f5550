"""What a signature stands for, as far as the machines app knows."""


def records(visit):
    """Machines visited, photos, belt inspections, meters and recommendations; six queries."""
    for here in visit.visited.select_related("machine").prefetch_related("photos"):
        yield f"Findings at machine {here.machine.number}", here, list(here.photos.all())
    inspections = visit.belt_inspections.select_related("belt__machine")
    for one in inspections.prefetch_related("findings").order_by("pk"):
        name = f"Inspection of the {one.belt}, machine {one.belt.machine.number}"
        yield name, one, list(one.findings.all())
    for reading in visit.meter_readings.select_related("machine").order_by("pk"):
        yield f"Meter of machine {reading.machine.number}: {reading}", reading, ()
    advice = visit.recommendations.select_related("machine").order_by("pk")
    for one in advice.prefetch_related("steps", "evidence"):
        name = f"Recommendation, machine {one.machine.number}: {one.what}"
        yield name, one, [*one.evidence.all(), *one.steps.all()]
