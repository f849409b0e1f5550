"""A machine's axes: listed, added, changed, removed."""

from django import forms
from django.contrib import messages
from django.core.exceptions import NON_FIELD_ERRORS
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from machines.register.models import Axis, Machine
from shop.people.access import DESK, demand, find
from shop.people.editing import editing, stamped
from shop.web.idempotency import sent_once, with_id

MACHINES = Machine.objects.select_related("shop").with_stop_state()
AXES = Axis.objects.select_related("machine__shop")


class AxisForm(forms.ModelForm):
    """An axis, checked together with its machine."""

    class Meta:
        model = Axis
        fields = ["name", "moves", "plus"]
        error_messages = {
            NON_FIELD_ERRORS: {"unique_together": "This machine has an axis of that name already."}
        }

    def __init__(self, *args, machine, **kwargs):
        super().__init__(*args, **kwargs)
        self.instance.machine = machine

    def _get_validation_exclusions(self):
        return super()._get_validation_exclusions() - {"machine"}


@sent_once
def axes(request, pk):
    """The axes of a machine, and a form to add one."""
    machine = find(MACHINES, request.user, pk=pk)
    demand(request.user, machine.shop, DESK)
    form = with_id(AxisForm(request.POST or None, machine=machine))
    if form.is_valid():
        messages.success(request, f"Added {form.save()}.")
        return redirect("machines:axes", machine.pk)
    context = _at(machine) | {"form": form, "axes": machine.axes.all()}
    return render(request, "machines/axes.html", context)


@editing
def axis(request, pk):
    """Change an axis."""
    found = _axis_changed(request, pk)
    form = AxisForm(request.POST or None, instance=found, machine=found.machine)
    stamped(request, form, found)
    if form.is_valid():
        messages.success(request, f"Saved {form.save()}.")
        return redirect("machines:axes", found.machine_id)
    context = _at(found.machine) | {"form": form, "axis": found}
    return render(request, "machines/axis.html", context)


@require_POST
def remove(request, pk):
    """Take an axis off its machine."""
    found = _axis_changed(request, pk)
    found.delete()
    messages.success(request, f"Removed {found}.")
    return redirect("machines:axes", found.machine_id)


def _axis_changed(request, pk):
    found = find(AXES, request.user, pk=pk)
    demand(request.user, found.machine.shop, DESK)
    return found


def _at(machine):
    return {"machine": machine, "machine_url": machine.get_absolute_url()}
