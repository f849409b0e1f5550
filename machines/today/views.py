"""All there is of one block of the first page."""

from dataclasses import replace

from django.http import Http404
from django.shortcuts import render
from django.views.decorators.http import require_safe

from shop.web.listing import whole_number

from .panels import BLOCKS
from .places import roles_of

LINES_MORE = 50
MOST_PAGES = 40


@require_safe
def open_list(request):
    """Every line of the block asked for, fifty more at a time; 404 for whom it says nothing to."""
    own = {key: block for key, (role, block) in BLOCKS.items() if role in roles_of(request.user)}
    block = own.get(request.GET.get("of", next(iter(own), "")))
    if block is None:
        raise Http404("no such list")
    key = next(name for name, one in own.items() if one is block)
    pages = min(max(whole_number(request.GET.get("pages", "")) or 1, 1), MOST_PAGES)
    found = replace(block(request.user, LINES_MORE * pages), folded=False)
    more = pages + 1 if found.left_out and pages < MOST_PAGES else None
    return render(request, "machines/open.html", {"found": found, "key": key, "more": more})
