"""The year that an address asks for: from the shop's first record to the year that comes."""

from django.db.models import OuterRef, Subquery
from django.http import Http404

from machines.incidents.models import Incident
from machines.register.models import MeterReading, Standstill
from shop.billing.models import Statement
from shop.visits.models import Visit
from shop.web.listing import whole_number

# A table, the way to its shop, and when each of its records happened.
RECORDS = {
    "incident": (Incident, "machine__shop", "happened_at"),
    "statement": (Statement, "shop", "issued_on"),
    "reading": (MeterReading, "machine__shop", "read_at"),
    "stop": (Standstill, "machine__shop", "began_at"),
    "visit": (Visit, "shop", "arrived_at"),
}


def with_first_records(shops):
    """Annotate when the first record of each kind is from, for `years_of`; no further query."""
    return shops.annotate(
        **{
            f"first_{name}": Subquery(
                model.objects.filter(**{way: OuterRef("pk"), f"{moment}__isnull": False})
                .order_by(moment)
                .values(moment)[:1]
            )
            for name, (model, way, moment) in RECORDS.items()
        }
    )


def years_of(shop):
    """(first, last) year there is something to tell of at a shop read `with_first_records`."""
    this = shop.today.year
    firsts = [getattr(shop, f"first_{name}") for name in RECORDS]
    years = [one.year for one in firsts if one is not None]
    return min([this, *years]), this + 1


def asked_year(request, shop):
    """(the year in the address, else this one in the shop's zone; the one before, the one after).

    None for a neighbour with nothing to tell. Raises Http404 for a year that is none of them.
    """
    first, last = years_of(shop)
    number = whole_number(request.GET.get("year") or str(last - 1))
    if number is None or not first <= number <= last:
        raise Http404("no such year")
    before = number - 1 if number > first else None
    return number, before, number + 1 if number < last else None
