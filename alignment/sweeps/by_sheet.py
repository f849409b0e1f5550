"""What a check under a former sheet comes to by the limits of the sheet in force."""

from .measuring import stored_sweeps, work_out
from .models import Check


def verdicts_by_sheet(told):
    """Pk of a check to its verdict by the line in force that it tells of.

    told: (pk of the check, pk of the item it was entered under, item in force). A check that was
    entered under that item keeps the verdict it was signed with and is left out. Three queries
    where there are any others, else none.
    """
    asked = {pk: item for pk, under, item in told if under != item.pk}
    if not asked:
        return {}
    found = Check.objects.filter(pk__in=asked).select_related("item__station__machine__shop")
    return {
        check.pk: _verdict(check, asked[check.pk])
        for check in found.prefetch_related("sweeps__readings")
    }


def _verdict(check, item):
    if _held_to(check) == _held_to(item):
        return check.verdict
    if not item.has_limit:
        return Check.Verdict.NO_LIMIT
    # Its own station and settings say how it was measured, the line in force what is asked.
    return work_out(_Asked(check, item), *stored_sweeps(check)).verdict


def _held_to(asked):
    return *asked.limits_um, asked.per_mm, asked.at_mm, asked.nominal_um


class _Asked:
    """A stored check held to the limits of another line of a sheet, by the rule it was held to."""

    def __init__(self, check, item):
        self.item, self.rule = check.item, check.rule
        self.limits_um, self.per_mm = item.limits_um, item.per_mm
        self.at_mm, self.nominal_um = item.at_mm, item.nominal_um
