"""All there is of one block of the first page, and all that is open."""

from dataclasses import replace

from django import forms
from django.http import Http404
from django.shortcuts import render
from django.views.decorators.http import require_safe

from shop.people.models import Shop
from shop.web.listing import csv_of, wants_csv, whole_number

from .open_work import KINDS, lines_of, open_rows, page_of_open
from .panels import BLOCKS
from .places import CONTRACTOR, roles_of, shops_as
from .tables import OpenTable, told

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


class OpenFilter(forms.Form):
    """Which shop and which kind of open work to show; nothing chosen shows all."""

    shop = forms.ModelChoiceField(Shop.objects.none(), required=False, empty_label="Every shop")
    kind = forms.ChoiceField(
        choices=[("", "Everything open"), *((one.key, one.title) for one in KINDS)], required=False
    )

    def __init__(self, given, *, shops):
        super().__init__(given)
        self.fields["shop"].queryset = shops

    @property
    def chosen(self):
        """{shop, kind} as `open_rows` takes them."""
        given = self.cleaned_data if self.is_valid() else {}
        return {"shop": given.get("shop"), "kind": given.get("kind", "")}


@require_safe
def open_work(request):
    """All that was promised and is not finished, the oldest first; as CSV when asked. 404 for whom
    a firm's desk is none of theirs."""
    if CONTRACTOR not in roles_of(request.user):
        raise Http404("no such list")
    filters = OpenFilter(request.GET, shops=shops_as(request.user, CONTRACTOR))
    chosen = filters.chosen
    if wants_csv(request):
        lines = lines_of(request.user, list(open_rows(request.user, **chosen)))
        return csv_of(OpenTable([told(kind, line) for kind, line in lines]), "open")
    page = page_of_open(request.user, request.GET.get("page"), **chosen)
    context = {
        "page": page,
        "found": {"lines": page.object_list},
        "filters": filters,
        "any_chosen": any(chosen.values()),
    }
    return render(request, "machines/open_work.html", context)
