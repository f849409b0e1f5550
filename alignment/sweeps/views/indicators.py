"""The indicators that a contractor's firm measures with."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET

from alignment.sweeps.forms.indicator import IndicatorForm
from alignment.sweeps.models import Indicator
from alignment.sweeps.tables import IndicatorTable
from shop.people.access import find
from shop.people.editing import editing, stamped
from shop.people.models import Firm, Role
from shop.web.idempotency import sent_once, with_id
from shop.web.listing import arrange, csv_of, wants_csv


def _firm(user):
    """The firm a contractor works for today; 403 for anybody else."""
    current = user.memberships.current().filter(role=Role.CONTRACTOR)
    firm = Firm.objects.filter(pk__in=current.values("firm")).order_by("pk").first()
    if firm is None:
        raise PermissionDenied("Only a service contractor keeps indicators.")
    return firm


@require_GET
def indicators(request):
    """The firm's indicators, those in use first."""
    firm = _firm(request.user)
    table = IndicatorTable(
        Indicator.objects.visible_to(request.user), unit=request.user.length_unit, today=firm.today
    )
    if wants_csv(request):
        return csv_of(table, f"indicators of {firm}")
    context = {"firm": firm, "table": arrange(request, table)}
    return render(request, "alignment/indicators.html", context)


@sent_once
def new_indicator(request):
    """Enter an indicator of the firm."""
    return _form(request, _firm(request.user), None)


@editing
def indicator(request, pk):
    """Change an indicator; what was measured with it keeps what it said then."""
    found = find(Indicator.objects.select_related("firm"), request.user, pk=pk)
    return _form(request, found.firm, found)


def _form(request, firm, found):
    form = IndicatorForm(
        request.POST or None, instance=found, unit=request.user.length_unit, firm=firm
    )
    if found is not None:
        stamped(request, form, found)
    else:
        with_id(form)
    if form.is_valid():
        saved = form.save()
        messages.success(request, f"Saved {saved}.")
        return redirect("alignment:indicators")
    return render(request, "alignment/indicator.html", {"form": form, "indicator": found})
