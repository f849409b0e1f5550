"""What every page is given."""

from django.utils.functional import SimpleLazyObject

from .access import DESK


def for_every_page(request):
    """The unit in which the person reads and types lengths, and whether money concerns them."""
    user = getattr(request, "user", None)
    signed_in = user is not None and user.is_authenticated
    return {
        "unit": user.length_unit if signed_in else "mm",
        "sees_money": SimpleLazyObject(lambda: signed_in and _sees_money(user)),
    }


def _sees_money(user):
    """Whether the person is an owner or a contractor anywhere; one query, once it is asked."""
    return user.memberships.current().filter(role__in=DESK).exists()
