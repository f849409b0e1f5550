"""How limits and computed lengths are written on pages."""

from django import template

from alignment import shown

register = template.Library()


@register.filter
def limits(record, unit):
    """The limits of an item or a check in the person's unit."""
    return shown.limits(record, unit)


@register.filter
def computed(value_um, unit):
    """A computed length in the person's unit, "not known" where it is not."""
    return shown.length(value_um, unit)


@register.filter
def as_typed(text, unit):
    """A length as it was typed, with the unit it was taken in."""
    return shown.as_typed(text, unit)
