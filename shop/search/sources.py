"""What the ground app has to search."""

from django.urls import reverse

from shop.calendar.models import Proposal
from shop.paper.models import Document
from shop.people.models import Membership, Shop
from shop.visits.models import Visit

from .searched import Searched


def _people(user):
    places = Membership.objects.visible_to(user).filter(shop__in=Shop.objects.visible_to(user))
    return places.select_related("user", "shop", "firm")


SHOPS = Searched(
    "shop",
    "Shops",
    lambda user: Shop.objects.visible_to(user),
    ("name", "address", "contact", "phone", "email"),
    url=lambda shop: reverse("shop:shop", args=[shop.pk]),
    names=("name",),
    shop="",
)
PEOPLE = Searched(
    "person",
    "People",
    _people,
    ("user__first_name", "user__last_name", "user__email"),
    title=lambda place: f"{place.user.name}, {place.get_role_display()}",
    url=lambda place: reverse("shop:people", args=[place.shop_id]),
    names=("user__first_name", "user__last_name"),
)
VISITS = Searched(
    "visit",
    "Visits",
    lambda user: Visit.objects.visible_to(user).select_related("shop"),
    ("number", "purpose", "come_back_for", "changed_why"),
    day="made_at",
)
PROPOSALS = Searched(
    "proposal",
    "Proposals",
    lambda user: Proposal.objects.visible_to(user).select_related("shop"),
    ("purpose",),
    day="made_at",
)
DOCUMENTS = Searched(
    "document",
    "Documents",
    lambda user: Document.objects.visible_to(user).select_related("shop"),
    ("number", "code"),
    title=lambda document: str(document).capitalize(),
    day="issued_at",
)
