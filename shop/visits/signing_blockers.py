"""What a visit still lacks before it can be signed, as far as the ground app can tell."""

from django.urls import reverse

from shop.hooks import SigningBlocker


def clocks_still_running(visit):
    """A clock that runs at signing would go on counting what was signed: no note explains it; one
    query."""
    return [
        SigningBlocker(
            sentence=f"the clock of {spell.who.name} ({spell.kind}) is still running",
            url=reverse("shop:times", args=[visit.pk]),
            may_wait=False,
        )
        for spell in visit.spells.running().select_related("who")
    ]
