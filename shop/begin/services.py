"""Beginning a site without people: who may, and what is made."""

from django.conf import settings
from django.contrib.contenttypes.models import ContentType
from django.core import signing
from django.db import transaction

from shop.people.models import Firm, FirmMembership, Membership, Role, Shop, User
from shop.people.signing_in.sessions import client_address
from shop.web.errors import Refused
from shop.web.regions import region_of

from .serving import is_own

FIRM, SHOP = "firm", "shop"
SALT = "sweepbook.begin"
LINK_LASTS_S = 3 * 24 * 3600


def is_unbegun():
    """Whether nobody but who keeps the site is on it; at most three queries."""
    return not (
        User.objects.filter(is_staff=False).exists()
        or Firm.objects.exists()
        or Shop.objects.exists()
    )


def new_token():
    """What the link to the first page ends with; it works until somebody began, three days long."""
    return signing.dumps("begin", salt=SALT)


def is_token(token):
    """Whether a token is one of ours and not too old."""
    try:
        return signing.loads(token, salt=SALT, max_age=LINK_LASTS_S) == "begin"
    except signing.BadSignature:
        return False


def is_at_the_machine(request):
    """Whether a request comes from the very machine that serves the site.

    Behind a proxy every request comes from there; one that says so is not taken for one of these.
    """
    if not settings.PROXIES and request.META.get("HTTP_X_FORWARDED_FOR"):
        return False
    number = client_address(request)
    return number is not None and is_own(number)


@transaction.atomic
def begin(*, person, business, kind):
    """Make the first person and their business; raises Refused once somebody has begun.

    person: an unsaved `User`. business: an unsaved `Firm` or `Shop`, as `kind` says; paper, dates
    and week are those of its country.
    """
    # Two who begin at one moment wait for one another at a row that is always there.
    ContentType.objects.select_for_update().get(app_label="shop", model="user")
    if not is_unbegun():
        raise Refused("Somebody began meanwhile. Sign in, or ask them for an invitation.")
    take_region(business)
    person.save()
    business.save()
    if kind == FIRM:
        FirmMembership.objects.create(user=person, firm=business, is_admin=True)
    else:
        Membership.objects.create(user=person, shop=business, role=Role.OWNER)
    return business


def take_region(business):
    """Let a firm or shop write as its country does; the currency only where it has none."""
    region = region_of(business.country)
    business.paper_size = region.paper_size
    business.date_form = region.date_form
    business.week_starts_on = region.week_starts_on
    business.currency = business.currency or region.currency
