"""What to bring to a visit."""

from django.shortcuts import render
from django.views.decorators.http import require_safe

from machines.planning.bring import to_bring
from shop.people.access import find
from shop.visits.models import Visit


@require_safe
def bring(request, pk):
    """What to bring to a visit."""
    visit = find(Visit.objects.select_related("shop", "firm"), request.user, pk=pk)
    return render(request, "machines/bring.html", {"visit": visit, "wanted": to_bring(visit)})
