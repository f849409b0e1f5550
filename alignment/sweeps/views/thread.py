"""Going along the thread of a visit: what is next, skipping it, and the bar anew."""

from types import SimpleNamespace

from django.contrib import messages
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from alignment.sweeps.chain_view import not_settled
from alignment.sweeps.models import Check
from alignment.sweeps.thread import skip, thread_for
from alignment.sweeps.thread_bar import belt_bar, sweep_bar

from .workplace import item_at, visit_worked_on

DONE = "Nothing is left to do at these machines. See what is missing before signing."


def go_on(request, visit, machine_pk=None, station_pk=None):
    """To what is next at a visit, at one machine first, and at one station of it before all where
    it is given; to the visit when nothing is."""
    todo = thread_for(request, visit).next(machine_pk, station_pk)
    if todo is None:
        messages.info(request, DONE)
        return redirect(visit)
    return redirect(todo.url)


@require_POST
def skip_step(request, visit_pk):
    """Leave a step out, and go on with the next; it stays open, after everything else."""
    visit = visit_worked_on(request, visit_pk)
    thread = thread_for(request, visit)
    key = request.POST.get("step", "")
    todo = next((one for one in thread.every if one.step.key == key), None)
    if todo is not None:
        skip(request, key)
    return go_on(request, visit, todo and todo.machine.pk)


@require_GET
def thread_bar(request, visit_pk, pk):
    """The bar of a sweep's page as things are now, and what the last step came to: the page itself
    may have been loaded before that step was saved."""
    visit = visit_worked_on(request, visit_pk)
    item = item_at(visit, request, pk)
    bar = sweep_bar(request, visit, item, request.GET.get("phase", Check.Phase.AS_FOUND))
    return render(request, "alignment/thread_bar.html", {"bar": bar})


# What the pages of a lower app ask of a visit's thread and of a machine's chain.
FOR_LOWER_APPS = SimpleNamespace(belt_bar=belt_bar, go_on=go_on, not_settled=not_settled)
