"""What owners are shown of answers that were told for them."""

from shop.hooks import Panel

from .models import ToldAnswer

TOLD_ON_HOME = 10


def home_told(request):
    """Answers that a firm entered for the owner and nobody has replied to, the oldest first; one
    query."""
    waiting = ToldAnswer.objects.waiting_for(request.user).select_related("shop")
    shown = list(waiting.order_by("made_at", "pk")[:TOLD_ON_HOME])
    return Panel("shop/panels/home_told.html", {"waiting": shown}) if shown else None
