"""What the clock of a visit says: hours by rate, time and distance travelled."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from django.utils import timezone

from .hours import Hours, Spell, split_hours, to_hours
from .models import WorkSpell


@dataclass(frozen=True)
class WorkTime:
    """Hours of work by rate, hours of travel, distance, and who was there.

    clocked: whether anybody's work was; else its hours are those from arriving to leaving.
    """

    work: Hours
    travel_h: Decimal
    distance: Decimal
    people: tuple[str, ...]
    clocked: bool
    running: tuple[WorkSpell, ...]

    @property
    def work_h(self):
        return self.work.normal + self.work.overtime + self.work.weekend


def work_time(visit, *, now: datetime | None = None) -> WorkTime:
    """The time of a visit by its clock; one query.

    A running clock counts up to `now`. Where no work was clocked, the contractor worked from
    arriving to leaving, once both are known.
    """
    now = now or timezone.now()
    spells = list(visit.spells.select_related("who"))
    work = [_spell(one, now) for one in spells if one.kind == WorkSpell.Kind.WORK]
    if not work and visit.arrived_at and visit.left_at:
        work = [Spell(visit.contractor_id, visit.arrived_at, visit.left_at)]
    travel = [one for one in spells if one.kind == WorkSpell.Kind.TRAVEL]
    travelled = (one.ended_at - one.began_at for one in (_spell(one, now) for one in travel))
    return WorkTime(
        work=split_hours(work, visit.shop.zone, day_h=visit.firm.normal_day_h),
        travel_h=to_hours(sum(travelled, timedelta())),
        distance=sum((one.distance for one in travel if one.distance), Decimal(0)),
        people=tuple(dict.fromkeys(one.who.name for one in spells)) or (visit.contractor.name,),
        clocked=any(one.kind == WorkSpell.Kind.WORK for one in spells),
        running=tuple(one for one in spells if one.ended_at is None),
    )


def _spell(spell, now):
    return Spell(spell.who_id, spell.began_at, spell.ended_at or max(now, spell.began_at))
