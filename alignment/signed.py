"""What a signature stands for, as far as the alignment app knows."""


def records(visit):
    """Checks with their sweeps and readings, and adjustments; four queries."""
    checks = visit.checks.select_related("item__station__machine")
    for check in checks.prefetch_related("sweeps__readings").order_by("pk"):
        sweeps = list(check.sweeps.all())
        rows = [*sweeps, *(reading for sweep in sweeps for reading in sweep.readings.all())]
        name = f"Check, machine {check.item.station.machine.number}: {check}"
        yield name, check, rows
    for one in visit.adjustments.select_related("station__machine").order_by("pk"):
        yield f"Adjustment, machine {one.station.machine.number}: {one}", one, ()
