"""What stands beside a new figure: the factory's own, how it was last left, how it was found."""

from alignment.sheets import formatting
from alignment.sheets.same_lines import lines_of

from .models import Check
from .states import state_of_item

LAST_LEFT = "Last left"


def last_left(item, visit, before=None):
    """The newest standing check of an item, under whatever sheet, from an earlier visit, None
    without; three queries.

    before: only what was made before this moment.
    """
    _in_force, lines = lines_of(item)
    checks = Check.objects.counting_for(visit).filter(item__in=lines).exclude(visit=visit)
    if visit.corrects_id:
        checks = checks.exclude(visit=visit.corrects_id)
    until = before or visit.signed_at
    if until:
        checks = checks.filter(made_at__lte=until)
    return checks.select_related("item__station__machine", "visit__shop").newest_first().first()


def beside(item, visit, unit, check=None):
    """(words, value, check or None) of each figure that a new one is read against.

    check: the one that is looked at, which does not stand beside itself.
    """
    rows = []
    asked = check or item
    if asked.own_um is not None:
        rows.append(("Factory's own figure", formatting.stated(asked.own_um, unit, asked), None))
    left = last_left(item, visit, check and check.made_at)
    if left:
        rows.append(_row(LAST_LEFT, left, unit, "" if check else _worth(left)))
    if found := _found(item, visit, check):
        rows.append(_row("As found at this visit", found, unit))
    return rows


def _found(item, visit, check):
    if check and check.phase == Check.Phase.AS_FOUND:
        return None
    checks = visit.checks.counting_for(visit)
    found = checks.filter(item=item, phase=Check.Phase.AS_FOUND)
    return found.select_related("item").last()


def _worth(left):
    """What an earlier check is worth now, before it is measured anew."""
    newest, state = state_of_item(left.item)
    return state.words if newest.pk == left.pk else ""


def _row(words, check, unit, worth=""):
    return (
        words,
        f"{formatting.measure(check.told_um, unit, check)}, {worth or check.verdict}",
        check,
    )
