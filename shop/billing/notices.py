"""Mail about a firm's money."""

from django.template.loader import render_to_string
from django.urls import reverse

from shop.outbox.services import post
from shop.people.memberships import those_who_run
from shop.web.served import absolute


def tell_where_money_goes(firm, *, before, by):
    """Mail all who run a firm when the text that says where its customers pay was changed."""
    if firm.payment_note == before:
        return
    page = absolute(reverse("shop:firm", args=[firm.pk]))
    context = {"firm": firm, "before": before, "by": by, "page": page}
    body = render_to_string("shop/payment_changed.txt", context)
    subject = f"Where customers of {firm} pay was changed"
    for person in those_who_run(firm).exclude(email=""):
        post(to=person.email, subject=subject, body=body, made_by=by)
