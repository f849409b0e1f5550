"""What is due: plans, machines, meters and incidents brought together, in a fixed number of
queries however many plans and readings there are."""

import uuid
from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from django.conf import settings
from django.utils import timezone

from machines.engineering.due import BUCKETS, Due, WorkRecord, due
from machines.engineering.meters import MeterReading as Counted
from machines.engineering.occurrences import dues_until
from machines.incidents.models import Incident
from machines.register.models import Machine, MeterReading
from shop.calendar.models import ClosedDays
from shop.hooks import hooks
from shop.visits.models import Visit

from .models import Plan, PlanClosing, WantedWork

# Use is counted from the last time something was done; the rate of use needs readings before it.
READINGS_BEFORE = timedelta(days=400)


@dataclass(frozen=True)
class DueItem:
    """One plan on one machine: when it is due and why, and the record that says so.

    `closing` is the last time it was done or skipped, `visit` the planned visit it is wanted at;
    None where there is none. `record` is None of an item that stands in a list.
    """

    plan: Plan
    machine: Machine
    due: Due
    record: WorkRecord | None
    today: date
    closing: PlanClosing | None
    visit: Visit | None = None

    @property
    def bucket(self):
        return self.due.bucket(self.today)

    @property
    def uid(self):
        """The same for as long as this time round is neither done nor skipped."""
        return self.uid_of(0)

    def uid_of(self, number):
        """That of the time that comes `number` times after this one."""
        last = self.closing.entry_id if self.closing else "first"
        return uuid.uuid5(self.plan.entry_id, f"{self.machine.pk} after {last} and {number}")

    @property
    def changed_at(self):
        """When it was last known to be due anew."""
        return self.closing.made_at if self.closing else self.plan.made_at

    @property
    def order(self):
        day = self.due.on or date.max
        return BUCKETS.index(self.bucket), day, self.machine.shop.name, self.machine.number

    def until(self, last, now):
        """Every time it falls due up to the day `last`, each done on the day it is due."""
        return dues_until(self.plan.interval, self.record, now, self.machine.shop.zone, last)


def due_items(machines, *, plans=None, now=None):
    """What is due of every running plan of `machines` (a queryset), the most pressing first.

    plans: a queryset that narrows the plans. A plan waiting for an incident or a risk that has not
    come, and a machine out of service, have no item.
    """
    now = now or timezone.now()
    pairs = _pairs(machines, Plan.objects.all() if plans is None else plans)
    if not pairs:
        return []
    closings = _last_closings(pairs)
    visits = _wanted_at(pairs)
    records = _records(pairs, closings, now)
    items = []
    for plan, machine in pairs:
        zone = machine.shop.zone
        record = records[plan.pk, machine.pk]
        found = due(plan.interval, record, now, zone)
        if found is not None:
            key = plan.pk, machine.pk
            today = now.astimezone(zone).date()
            items.append(
                DueItem(plan, machine, found, record, today, closings.get(key), visits.get(key))
            )
    return sorted(items, key=lambda item: item.order)


def find_item(plan, machine, now=None):
    """The due item of one plan on one machine, None where nothing is due or told."""
    plans, machines = Plan.objects.filter(pk=plan.pk), Machine.objects.filter(pk=machine.pk)
    return next(iter(due_items(machines, plans=plans, now=now)), None)


def _pairs(machines, plans):
    """(plan, machine) for each machine a plan says something of; three queries."""
    machines = list(machines.select_related("shop"))
    of_model, by_pk = defaultdict(list), {}
    for machine in machines:
        by_pk[machine.pk] = machine
        if machine.model_name:
            of_model[machine.shop_id, machine.model_name].append(machine)
    shops = {machine.shop_id for machine in machines}
    running = plans.running().filter(shop__in=shops).prefetch_related("subjects")
    pairs = []
    for plan in running:
        if plan.machine_id is None:
            pairs += [(plan, machine) for machine in of_model[plan.shop_id, plan.model_name]]
        elif plan.machine_id in by_pk:
            pairs.append((plan, by_pk[plan.machine_id]))
    return pairs


def _last_closings(pairs):
    plans = {plan.pk for plan, _machine in pairs}
    return {
        (closing.plan_id, closing.machine_id): closing
        for closing in PlanClosing.objects.filter(plan__in=plans).newest()
    }


def _wanted_at(pairs):
    """(plan, machine) to the visit, not signed yet, at which it is wanted."""
    wanted = WantedWork.objects.filter(
        plan__in={plan.pk for plan, _machine in pairs}, visit__in=Visit.objects.unsigned()
    ).select_related("visit__shop")
    return {(work.plan_id, work.machine_id): work.visit for work in wanted}


def _records(pairs, closings, now):
    since = {
        (plan.pk, machine.pk): _since(plan, machine, closings.get((plan.pk, machine.pk)))
        for plan, machine in pairs
    }
    readings = _readings(pairs, min(since.values()))
    incidents = _incidents(pairs, min(since.values()))
    risks = _risks(pairs)
    closed = _closed(pairs)
    records = {}
    for plan, machine in pairs:
        key = plan.pk, machine.pk
        closing = closings.get(key)
        counts_from_due = plan.counts_from == Plan.CountsFrom.DUE
        records[key] = WorkRecord(
            since=since[key],
            never_done=closing is None,
            anchor=plan.starts_on if counts_from_due else None,
            closed_due=closing.due_on if closing else None,
            hours=tuple(readings[machine.pk, MeterReading.Kind.SPINDLE_HOURS]),
            parts=tuple(readings[machine.pk, MeterReading.Kind.PARTS]),
            incidents=tuple(incidents[machine.pk]),
            risk_on=risks.get((plan.at_risk_percent, machine.pk)),
            risk=plan.at_risk_percent / 100 if plan.at_risk_percent else None,
            in_service=_in_service(machine, now),
            closed=tuple(closed[machine.shop_id]),
        )
    return records


def _since(plan, machine, closing):
    if closing is not None:
        return closing.counted_from
    return datetime.combine(plan.starts_on, time.min, tzinfo=machine.shop.zone)


def _in_service(machine, now):
    ends = [day for day in (machine.out_of_service_on, machine.shop.closed_on) if day is not None]
    return not ends or now.astimezone(machine.shop.zone).date() < min(ends)


def _readings(pairs, since):
    """(machine, meter) to its readings from somewhat before `since`, oldest first."""
    metered = {machine.pk for plan, machine in pairs if plan.spindle_hours or plan.parts}
    readings = defaultdict(list)
    if metered:
        found = MeterReading.objects.counted().filter(
            machine__in=metered, read_at__gte=since - READINGS_BEFORE
        )
        # Thousands of them: as plain values, since making records of them takes most of the time.
        columns = ("machine", "kind", "read_at", "value", "new_meter")
        for machine, kind, at, value, is_new in found.oldest_first().values_list(*columns):
            readings[machine, kind].append(Counted(at, float(value), is_new))
    return readings


def _closed(pairs):
    """The days on which each shop with a meter to go by is closed, by its key."""
    shops = {machine.shop_id for plan, machine in pairs if plan.spindle_hours or plan.parts}
    return ClosedDays.objects.filter(shop__in=shops).days_by_shop() if shops else defaultdict(set)


def _incidents(pairs, since):
    asked = {machine.pk for plan, machine in pairs if plan.after_incident}
    incidents = defaultdict(list)
    if asked:
        once = Incident.objects.each_once()
        found = once.filter(machine__in=asked, happened_at__gt=since)
        for machine, moment in found.values_list("machine", "happened_at"):
            incidents[machine].append(moment)
    return incidents


def _risks(pairs):
    """(percent, machine) to the day on which the risk of drift reaches it, where one is told."""
    asked = defaultdict(list)
    for plan, machine in pairs:
        if plan.at_risk_percent:
            asked[plan.at_risk_percent].append(machine)
    return {
        (percent, machine_pk): day
        for risk_dates in hooks(settings.PLANNING_SOURCES, about="risk dates")
        for percent, machines in asked.items()
        for machine_pk, day in risk_dates(machines, percent / 100).items()
        if day is not None
    }
