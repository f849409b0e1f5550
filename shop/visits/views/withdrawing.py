"""Pages on which something entered at a visit is withdrawn, moved or restored."""

from django import forms
from django.contrib import messages
from django.http import Http404
from django.shortcuts import redirect, render
from django.utils.text import capfirst
from django.views.decorators.http import require_POST

from shop.people.access import demand_work, find
from shop.visits.models import Visit
from shop.visits.withdrawing import effects_of, move, record_at, restore, withdraw
from shop.web.errors import Refused

MISTAKE = "Entered by mistake"


class WithdrawForm(forms.Form):
    """Why something is withdrawn, and where it belongs instead."""

    why = forms.CharField(label="Why", max_length=150, initial=MISTAKE)
    to = forms.ModelChoiceField(
        queryset=None,
        label="It belongs to",
        required=False,
        empty_label="nothing here: only withdraw it",
    )

    def __init__(self, *args, targets, **kwargs):
        super().__init__(*args, **kwargs)
        if targets is None or not targets.exists():
            del self.fields["to"]
        else:
            self.fields["to"].queryset = targets


def withdraw_record(request, pk, key):
    """Withdraw a record of the visit with a reason, or move it to where it belongs."""
    visit, record = _named(request, pk, key)
    form = WithdrawForm(request.POST or None, targets=effects_of(record).targets(record))
    if form.is_valid():
        try:
            return _withdrawn(request, visit, record, form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
    context = {"visit": visit, "record": record, "form": form}
    return render(request, "shop/withdraw.html", context)


def _withdrawn(request, visit, record, said):
    told = capfirst(str(record))
    if target := said.get("to"):
        move(record, target.pk, by=request.user, why=said["why"])
        messages.success(request, f"{told}: moved to the {target}.")
    else:
        withdraw(record, by=request.user, why=said["why"])
        messages.success(
            request, f"{told}: withdrawn. It can be restored until the visit is signed."
        )
    return redirect(f"{visit.get_absolute_url()}#withdrawn")


@require_POST
def restore_record(request, pk, key):
    """Take in again what was withdrawn."""
    visit, record = _named(request, pk, key)
    try:
        restore(record, by=request.user)
        messages.success(request, f"{capfirst(str(record))}: restored.")
    except Refused as refusal:
        messages.error(request, str(refusal))
    return redirect(visit)


def _named(request, pk, key):
    """The visit and the record, for somebody who works at the visit."""
    visit = find(Visit.objects.select_related("shop"), request.user, pk=pk)
    demand_work(request.user, visit)
    record = record_at(visit, key)
    if record is None:
        raise Http404("nothing of this visit is named so")
    return visit, record
