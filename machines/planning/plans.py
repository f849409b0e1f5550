"""What changes plans, and what becomes of each time they fall due."""

from collections import defaultdict
from datetime import datetime, time

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from machines.register.models import Machine
from machines.visit_work.services import add_machine_to_visit
from shop.hooks import hooks
from shop.visits.services import for_work
from shop.web.entries import entered_once, identified
from shop.web.errors import Refused
from shop.web.moments import passed
from shop.web.wording import time_text

from .board import find_item
from .models import Plan, PlanClosing, PlanSubject, WantedWork


@entered_once(Plan)
def make_plan(*, shop, made_by, machine=None, model_name="", subjects=(), entry_id=None, **fields):
    """Put a plan on record for a machine, or for every machine of a model in the shop.

    subjects: names of the stations or belts it is about; none means the machine as a whole.
    Raises Refused for an interval that is none, a machine of another shop and one that was taken
    out of service.
    """
    if machine is not None:
        _refuse_machine(machine, shop)
    plan = Plan(
        shop=shop,
        machine=machine,
        model_name=model_name,
        made_by=made_by,
        **fields,
        **identified(entry_id),
    )
    _refuse_no_interval(plan)
    plan.save()
    _set_subjects(plan, subjects)
    return plan


def _refuse_machine(machine, shop):
    if machine.shop_id != shop.pk:
        raise Refused("This machine stands in another shop.")
    if machine.is_out_of_service:
        raise Refused(
            f"Machine {machine.number} was taken out of service; nothing is planned for it."
        )


def _refuse_no_interval(plan):
    try:
        _ = plan.interval
    except ValueError as error:
        raise Refused(str(error)) from error


def _set_subjects(plan, names):
    plan.subjects.all().delete()
    PlanSubject.objects.bulk_create(PlanSubject(plan=plan, name=name) for name in names)


@transaction.atomic
def change_plan(plan, *, subjects=(), **fields):
    """Change what a plan says from now on; what was done under it stays as it was."""
    if plan.ended_at is not None:
        raise Refused("This plan has ended; make a new one.")
    for name, value in fields.items():
        setattr(plan, name, value)
    _refuse_no_interval(plan)
    plan.save()
    _set_subjects(plan, subjects)
    return plan


@transaction.atomic
def end_plan(plan, *, by):
    """Nothing falls due of an ended plan; what was done under it stays on record."""
    if plan.ended_at is None:
        plan.ended_at, plan.ended_by = timezone.now(), by
        plan.save(update_fields=["ended_at", "ended_by"])
    return plan


@entered_once(PlanClosing)
def mark_done(plan, machine, *, made_by, at=None, visit=None, note="", entry_id=None):
    """Close what is due of a plan on a machine as done `at`; the next counts from there.

    Raises Refused for a time in the future or before it was last done, for a plan that has ended
    or says nothing of the machine, for a signed visit, and where something of what it is about was
    not done at the visit and the note does not say why.
    """
    at = passed(at or timezone.now(), machine.shop.zone)
    if visit is not None:
        visit = for_work(visit)
        add_machine_to_visit(visit, machine)
        note = _with_left_out(plan, machine, visit, note)
    _refuse_before_last(plan, machine, at)
    return _close(
        plan,
        machine,
        outcome=PlanClosing.Outcome.DONE,
        made_by=made_by,
        counted_from=at,
        visit=visit,
        note=note,
        **identified(entry_id),
    )


@entered_once(PlanClosing)
def skip(plan, machine, *, made_by, reason, visit=None, entry_id=None):
    """Close what is due of a plan on a machine without doing it; the reason stays on record.

    The next counts from the day this one was due, or from now if that day has passed.
    """
    if not reason.strip():
        raise Refused("Say why it is skipped.")
    item = find_item(plan, machine)
    if item is None:
        raise Refused("Nothing of this plan is due on that machine.")
    now = timezone.now()
    day = item.due.on
    due_at = datetime.combine(day, time.min, tzinfo=machine.shop.zone) if day else now
    return _close(
        plan,
        machine,
        outcome=PlanClosing.Outcome.SKIPPED,
        made_by=made_by,
        counted_from=max(now, due_at),
        visit=visit and for_work(visit),
        note=reason.strip(),
        **identified(entry_id),
    )


def _close(plan, machine, **closing):
    """Store a closing with the day and the reason for which it was due."""
    Plan.objects.select_for_update().get(pk=plan.pk)
    if plan.ended_at is not None:
        raise Refused("This plan has ended.")
    if not Plan.objects.for_machine(machine).filter(pk=plan.pk).exists():
        raise Refused(f"This plan says nothing of machine {machine.number}.")
    item = find_item(plan, machine)
    return PlanClosing.objects.create(
        plan=plan,
        machine=machine,
        due_on=item.due.on if item else None,
        why_due=item.due.reason if item else "",
        **closing,
    )


def _with_left_out(plan, machine, visit, note):
    """The note of a closing at a visit, with what of the plan was left out there."""
    left = DoneAtVisit(visit).left_out(plan, machine)
    if not left:
        return note
    if not note.strip():
        raise Refused(
            f"The records of visit {visit.number} do not say that all of it was done. "
            f"Left out: {', '.join(left)}. Write into the note why."
        )
    longest = PlanClosing._meta.get_field("note").max_length
    return f"{note.strip()} Left out: {', '.join(left)}."[:longest]


def _refuse_before_last(plan, machine, at):
    last = plan.closings.filter(machine=machine).newest().first()
    if last and last.outcome == PlanClosing.Outcome.DONE and at < last.counted_from:
        when = time_text(last.counted_from, machine.shop.zone)
        raise Refused(f"It was done on {when} already; this would lie before that.")


@transaction.atomic
def reopen_plan(closing, *, by):
    """Undo a closing entered by mistake; it stays on record, but no longer counts."""
    locked = PlanClosing.objects.select_for_update(of=("self",)).get(pk=closing.pk)
    if locked.visit_id and locked.visit.is_signed:
        raise Refused("It was signed with its visit and no longer changes.")
    if locked.taken_back_at is None:
        locked.taken_back_at, locked.taken_back_by = timezone.now(), by
        locked.save(update_fields=["taken_back_at", "taken_back_by"])
    return locked


def subjects_of(machines):
    """(kind, name) of each station and belt a plan may be about, to the machines that have it.

    machines: a queryset. Gathered from the subjects of `PLANNING_SOURCES`: functions of it that
    yield (machine pk, kind, name).
    """
    found = defaultdict(set)
    for names_of in hooks(settings.PLANNING_SOURCES, about="subjects"):
        for machine_pk, kind, name in names_of(machines):
            found[kind, name].add(machine_pk)
    return dict(found)


class DoneAtVisit:
    """What was done at a visit, as far as its records say; a fixed number of queries.

    Gathered from what is done at a visit by `PLANNING_SOURCES`: functions of a visit that yield
    (machine pk, kind, name, moment).
    """

    def __init__(self, visit):
        self.known = subjects_of(Machine.objects.filter(visited__visit=visit))
        self.done = defaultdict(dict)
        for done_at in hooks(settings.PLANNING_SOURCES, about="done at a visit"):
            for machine_pk, kind, name, moment in done_at(visit):
                earlier = self.done[machine_pk, kind].get(name, moment)
                self.done[machine_pk, kind][name] = max(moment, earlier)

    def moment(self, plan, machine):
        """When all that a plan is about was done at a machine; None while something was not.

        A plan that names no station or belt is about all the machine has.
        """
        names, of_kind = self._names(plan, machine), self.done[machine.pk, plan.kind]
        if not names or self.left_out(plan, machine):
            return None
        return max(of_kind[name] for name in names)

    def left_out(self, plan, machine):
        """The names of what a plan is about at a machine and was not done at the visit."""
        of_kind = self.done[machine.pk, plan.kind]
        return [name for name in self._names(plan, machine) if name not in of_kind]

    def has_begun(self, plan, machine):
        """Whether something of what a plan is about was done."""
        return len(self.left_out(plan, machine)) < len(self._names(plan, machine))

    def _names(self, plan, machine):
        return [subject.name for subject in plan.subjects.all()] or [
            name
            for (kind, name), machines in self.known.items()
            if kind == plan.kind and machine.pk in machines
        ]


def close_what_was_done(visit):
    """After a visit is signed, close the plans whose work was done at it.

    A correction is typed in later than it was measured, so it closes nothing.
    """
    if visit.corrects_id:
        return
    done = DoneAtVisit(visit)
    closed = set(visit.plan_closings.in_effect().values_list("plan", "machine"))
    machines = Machine.objects.filter(visited__visit=visit).select_related("shop")
    for machine in machines:
        for plan in Plan.objects.running().for_machine(machine).prefetch_related("subjects"):
            moment = done.moment(plan, machine)
            if moment is not None and (plan.pk, machine.pk) not in closed:
                _close_if_later(plan, machine, visit, moment)


def _close_if_later(plan, machine, visit, moment):
    try:
        _refuse_before_last(plan, machine, moment)
    except Refused:
        return
    _close(
        plan,
        machine,
        outcome=PlanClosing.Outcome.DONE,
        made_by=visit.contractor,
        made_at=visit.signed_at,
        counted_from=moment,
        visit=visit,
    )


@transaction.atomic
def want_at(visit, pairs):
    """Plan the work of (plan, machine) pairs for a visit, and take up its machines."""
    for plan, machine in pairs:
        add_machine_to_visit(visit, machine)
        WantedWork.objects.get_or_create(visit=visit, plan=plan, machine=machine)


def belts_looked_at(visit):
    """The belts inspected at a visit; what is done at a visit."""
    for inspection in visit.belt_inspections.not_superseded().select_related("belt"):
        yield inspection.belt.machine_id, Plan.Kind.BELT, inspection.belt.name, inspection.made_at


def belt_names(machines):
    """Machine pk and name of each belt a plan may be about"""
    for machine_pk, name in machines.filter(belts__isnull=False).values_list("pk", "belts__name"):
        yield machine_pk, Plan.Kind.BELT, name


def bearings_looked_at(visit):
    """The bearings inspected at a visit; what is done at a visit."""
    for inspection in visit.bearing_inspections.not_superseded().select_related("bearing"):
        bearing = inspection.bearing
        yield bearing.machine_id, Plan.Kind.BEARING, bearing.name, inspection.made_at


def bearing_names(machines):
    """Machine pk and name of each bearing a plan may be about"""
    fitted = machines.filter(bearings__isnull=False)
    for machine_pk, name in fitted.values_list("pk", "bearings__name"):
        yield machine_pk, Plan.Kind.BEARING, name


DONE_AT_VISIT = [belts_looked_at, bearings_looked_at]
SUBJECTS = [belt_names, bearing_names]
