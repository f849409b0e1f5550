"""What planned work a visit still lacks before it can be signed."""

from django.urls import reverse

from shop.hooks import SigningBlocker

from .plans import DoneAtVisit


def wanted_work_left_open(visit):
    """Work wanted at the visit that is neither done nor skipped; a fixed number of queries."""
    wanted = visit.wanted.select_related("plan", "machine").prefetch_related("plan__subjects")
    closed = set(visit.plan_closings.in_effect().values_list("plan", "machine"))
    done = DoneAtVisit(visit) if wanted else None
    return [
        SigningBlocker(
            f"machine {work.machine.number}: {work.plan} was wanted at this visit "
            "and is neither done nor skipped",
            f"{reverse('machines:plan_done', args=[work.plan_id, work.machine_id])}"
            f"?visit={visit.pk}",
        )
        for work in wanted
        if (work.plan_id, work.machine_id) not in closed
        and done.moment(work.plan, work.machine) is None
    ]
