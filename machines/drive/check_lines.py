"""What was looked at of an incident's check list: the one rule of pages, papers and signing.

A line is looked at when somebody ticked it, or when the belt or bearing that it names was inspected
at its visit. Where both were done the inspection tells it: it says more than a tick.
"""

from dataclasses import dataclass
from datetime import datetime

from machines.incidents.models import CheckLine
from shop.people.models import User

from .bearing_looks import sentence_of
from .belt_looks import BeltLook
from .models import BearingInspection, BeltInspection


@dataclass(frozen=True)
class PartLine:
    """A part on the check list with whether it was looked at.

    found: what was found, in words; by, at: who looked when, None while nobody did. inspection:
    the look at the belt or bearing that tells it, None for a tick.
    """

    line: CheckLine
    found: str = ""
    by: User | None = None
    at: datetime | None = None
    inspection: BeltInspection | BearingInspection | None = None

    @property
    def is_done(self):
        return self.at is not None


def part_lines(visit):
    """The `PartLine`s of the machines visited, in the order of their lists; three queries."""
    lines = CheckLine.objects.filter(visited__visit=visit, what=CheckLine.What.PART)
    lines = list(
        lines.select_related("visited__machine", "done_by").order_by("visited", "position")
    )
    looks = _looks(visit) if lines else {}
    return [_told(line, looks.get((line.visited.machine_id, line.subject))) for line in lines]


def _told(line, look):
    if look is not None:
        inspection, sentence = look
        return PartLine(line, sentence, inspection.made_by, inspection.made_at, inspection)
    if line.is_ticked:
        return PartLine(line, line.found, line.done_by, line.done_at)
    return PartLine(line)


def _looks(visit):
    """(machine pk, name of the part) to the last look at it during a visit and what that says."""
    belts = visit.belt_inspections.not_superseded().select_related("belt", "made_by")
    bearings = visit.bearing_inspections.not_superseded().select_related("bearing", "made_by")
    told = {
        (look.belt.machine_id, look.belt.name): (look, BeltLook(look.belt, look).sentence)
        for look in belts.prefetch_related("findings").oldest_first()
    }
    return told | {
        (look.bearing.machine_id, look.bearing.name): (look, sentence_of(look))
        for look in bearings.oldest_first()
    }
