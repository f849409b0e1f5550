"""Which other lines of the sheet the readings of one answer: typed once, used for all they tell."""

from collections import Counter

from alignment.geometry.measure.quantity import BOW_FRONT, BOW_UP, RUNOUT_FAR, RUNOUT_NEAR, TIR
from alignment.geometry.measure.runout import SETTLING_POINTS
from alignment.sheets.models import AcceptanceItem

from .measuring import BAR, BORE, BOSS, FACE, work_out
from .models import Check

# A bar shows its bow at three positions or more.
BOW_POSITIONS = 3


def answered(visit, item, phase, sweeps):
    """The other lines that typed sweeps of `item` answer: a list of (line, its sweeps, `Measured`).

    Lines of the same station on the sheet in force, seen from the same datum with the indicator
    held the same way, each the only one of its quantity there; not those that somebody measured
    by themselves at the visit in that phase. Runs SQL.
    """
    found = []
    for line in _others(visit, item, phase):
        taken = sweeps_for(line, sweeps)
        try:
            found += [(line, taken, work_out(line, *taken))] if taken else []
        except ValueError:  # what these readings do not allow is a line they do not answer
            continue
    return found


def _others(visit, item, phase):
    lines = AcceptanceItem.objects.in_force().filter(sheet=item.sheet, station=item.station)
    lines = list(lines.select_related("station__machine__shop", "station__datum", "sheet"))
    alike = [one for one in lines if seen_alike(one) == seen_alike(item)]
    count = Counter(one.quantity for one in alike)
    own = Check.objects.not_superseded().filter(visit=visit, phase=phase, typed_with=None)
    measured = set(own.filter(item__in=alike).values_list("item", flat=True))
    return [
        one
        for one in alike
        if one.pk != item.pk and count[one.quantity] == 1 and one.pk not in measured
    ]


def seen_alike(item):
    """What two lines must have in common for the same readings to tell of both."""
    return item.surface, item.measured_from_id, item.view, item.plane_mm


def sweeps_for(line, sweeps):
    """Those of typed sweeps that tell of a line; empty where they do not.

    Of several planes an offset takes the nearest, unless the line says where along the axis it
    counts; a tilt takes all of two or more.
    """
    surfaces = {sweep.surface for sweep in sweeps}
    if surfaces == {BAR}:
        return tuple(sweeps) if _bar_tells(line, sweeps) else ()
    if surfaces == {FACE}:
        return tuple(sweeps)
    if not surfaces <= {BORE, BOSS}:
        return ()
    planes = sorted({sweep.z_mm for sweep in sweeps if sweep.z_mm is not None})
    if line.is_tilt:
        return tuple(sweeps) if len(planes) > 1 else ()
    if len(planes) > 1 and line.at_mm is None:
        sweeps = [sweep for sweep in sweeps if sweep.z_mm == planes[0]]
    return tuple(sweeps) if line.quantity != TIR or _shows_form(sweeps) else ()


def _shows_form(sweeps):
    """Whether a run-out can come to more than 'not proven'."""
    return all(
        len(sweep.readings) >= SETTLING_POINTS or sweep.form_um is not None for sweep in sweeps
    )


def _bar_tells(line, sweeps):
    if line.quantity in (RUNOUT_NEAR, RUNOUT_FAR):
        return any(sweep.turned for sweep in sweeps)
    if line.quantity in (BOW_FRONT, BOW_UP):
        return len(sweeps[0].readings) >= BOW_POSITIONS
    return True


def typed_together(check):
    """The checks that stand on the same readings as this one, without it; two queries."""
    root = check.typed_with_id or check.pk
    group = Check.objects.filter(typed_with=root) | Check.objects.filter(pk=root)
    return group.exclude(pk=check.pk).select_related("item__station__machine__shop", "visit")
