"""The year that an address asks for."""

from django.http import Http404
from django.utils import timezone

from shop.web.listing import whole_number

EARLIEST, LATEST = 1990, 2100


def asked_year(request, shop):
    """The year in the address, this one in the shop's zone without; Http404 for what is none."""
    asked = request.GET.get("year") or str(timezone.localdate(timezone=shop.zone).year)
    number = whole_number(asked)
    if number is None or not EARLIEST <= number <= LATEST:
        raise Http404("no such year")
    return number
