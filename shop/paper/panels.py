"""The documents of a visit, on its page."""

from shop.hooks import Panel
from shop.people.access import role_at
from shop.people.models import Role
from shop.snapshots.pages import cached_panel

from .models import Document


@cached_panel
def documents(visit, request):
    """The documents issued of a visit, and the way to send them."""
    issued = list(Document.objects.visible_to(request.user).filter(visit=visit))
    if not issued:
        return None
    return Panel(
        "shop/panels/documents.html",
        {
            "visit": visit,
            "documents": issued,
            "told": str(issued[0]) if len(issued) == 1 else f"{len(issued)} issued",
            "may_send": role_at(request.user, visit.shop) == Role.CONTRACTOR,
        },
    )
