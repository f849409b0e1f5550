"""How meter readings and due days are written on pages."""

from datetime import timedelta
from urllib.parse import urlencode

from django import template

register = template.Library()


@register.filter
def grouped(number):
    """A number with its thousands parted, without a point if it is whole: 12,345 or 8.5."""
    if number is None:
        return "–"
    text = f"{number:,.1f}"
    return text.removesuffix(".0")


@register.filter
def hours(span):
    """A span as hours with one place and their thousands parted; a dash for no time at all."""
    return f"{span / timedelta(hours=1):,.1f}" if span else "–"


@register.filter
def trip_query(trip):
    """The query that fills the form of a visit with a trip's day and work."""
    work = [("work", key) for key in trip.keys]
    return urlencode([("day", trip.on.isoformat()), *work])
