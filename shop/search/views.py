"""The page that searches."""

from django.shortcuts import render
from django.views.decorators.http import require_safe

from .searched import groups_of, kinds, mended, page_of_kind
from .words import LONGEST_QUERY, terms_of


@require_safe
def search(request):
    """What a person may see of what they ask for; all of one kind by pages when asked."""
    text = request.GET.get("q", "").replace("\0", "")
    terms = terms_of(text)
    one = next((kind for kind in kinds() if kind.key == request.GET.get("kind")), None)
    context = {
        "text": text[:LONGEST_QUERY],
        "cut": len(text) > LONGEST_QUERY,
        "longest": LONGEST_QUERY,
        "asked": bool(terms),
    }
    if one and terms:
        page = page_of_kind(request.user, terms, one, request.GET.get("page"))
        return render(request, "shop/search.html", {**context, "one": one, "page": page})
    groups = groups_of(request.user, terms)
    instead = mended(request.user, text) if terms and not groups else None
    if instead:
        groups = groups_of(request.user, instead)
    shown = " ".join(f'"{term}"' if " " in term else term for term in instead or terms)
    return render(
        request,
        "shop/search.html",
        {**context, "groups": groups, "instead": instead and shown, "shown": shown},
    )
