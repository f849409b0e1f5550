"""Pages of answers that came by phone, by mail or on paper: read, confirmed or objected to."""

from django import forms
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from shop.people.access import DESK, demand, find, role_at
from shop.people.models import Role, Shop, ToldAnswer
from shop.people.telling import reply
from shop.web.errors import Refused
from shop.web.forms import EntryForm
from shop.web.listing import page_of

ANSWERS = ToldAnswer.objects.select_related("shop", "firm", "made_by", "reply__made_by")
CONFIRM, OBJECT = "confirm", "object"


class ReplyForm(EntryForm):
    """What the owner says to an answer that was entered for them."""

    why = forms.CharField(
        label="What is wrong about it",
        required=False,
        max_length=200,
        help_text="Needed to object; it stands beside the answer from then on.",
    )


@require_safe
def told_answers(request, pk):
    """The answers told to firms at a shop, newest first: an owner sees all, a firm its own."""
    shop = find(Shop.objects, request.user, pk=pk)
    demand(request.user, shop, DESK)
    seen = ANSWERS.visible_to(request.user).filter(shop=shop)
    return render(request, "shop/told_answers.html", {"shop": shop, "page": page_of(request, seen)})


def told_answer(request, pk):
    """One answer: what was told, what it decided, and the owner's word on it."""
    found = find(ANSWERS, request.user, pk=pk)
    may_reply = role_at(request.user, found.shop) == Role.OWNER
    if request.method == "POST" and not may_reply:
        raise PermissionDenied
    form = ReplyForm(request.POST or None)
    if form.is_valid():
        objects = OBJECT in request.POST
        try:
            reply(found, made_by=request.user, objects_to_it=objects, **form.cleaned_data)
            messages.success(request, "Your objection is kept." if objects else "Confirmed.")
            return redirect("shop:told_answer", found.pk)
        except Refused as refusal:
            form.add_error("why", str(refusal))
    context = {
        "told": found,
        "may_reply": may_reply and not hasattr(found, "reply"),
        "form": form,
        "records": _records(found),
    }
    return render(request, "shop/told_answer.html", context)


def _records(told):
    """What the answer decided: records with a page of their own."""
    return [
        *{
            step.recommendation
            for step in told.recommendation_steps.select_related("recommendation")
        },
        *{answer.item.quote for answer in told.quote_answers.select_related("item__quote")},
        *told.visits.all(),
    ]
