"""Where a person stands as what, and who comes to their machines."""

from django.db.models import OuterRef, Subquery

from shop.people.models import Role, Shop
from shop.visits.models import Visit
from shop.web.phones import phone_link
from shop.web.request_memo import request_memo


def roles_of(user):
    """The roles a person has at any shop today; one query, once a page."""
    current = user.memberships.current()
    return request_memo(("roles", user.pk), lambda: set(current.values_list("role", flat=True)))


def shops_as(user, role):
    """The shops where the person has a role today."""
    current = user.memberships.current().filter(role=role)
    return Shop.objects.filter(pk__in=current.values("shop"))


def own_visits(user):
    """The visits of the firms that a contractor comes from, at the shops it comes to."""
    return Visit.objects.worked_by(user)


def with_next_visit(records, visits, machine="pk"):
    """Annotate `coming`, `coming_on` and `coming_from` of the next of `visits`, not signed yet,
    that has a record's machine on it; None where nobody comes."""
    ahead = visits.unsigned().filter(visited__machine=OuterRef(machine))
    ahead = ahead.order_by("planned_for", "pk")
    return records.annotate(
        coming=Subquery(ahead.values("pk")[:1]),
        coming_on=Subquery(ahead.values("planned_for")[:1]),
        coming_from=Subquery(ahead.values("firm__name")[:1]),
    )


def phone_of(place):
    """(as shown, its address) of a shop's or firm's phone; nothing without one."""
    address = phone_link(place.phone, place.country)
    return (place.phone, address) if address else ()


CONTRACTOR, OWNER, OPERATOR = Role.CONTRACTOR, Role.OWNER, Role.OPERATOR
