"""The way to what was changed of a record."""

from django import template
from django.urls import reverse

register = template.Library()


@register.inclusion_tag("shop/_changes_link.html")
def changes_link(record):
    """A link to the page of a record's changes; nothing while there is no record."""
    return {"url": changes_url(record) if getattr(record, "pk", None) else ""}


def changes_url(record):
    """The address of the page that says what was changed of a record."""
    meta = record._meta
    return reverse("shop:changes", args=[meta.app_label, meta.model_name, record.pk])
