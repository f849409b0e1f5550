"""How lengths, clock positions and times are written on pages."""

from datetime import date

from django import template

from shop.lengths import UNIT_SYMBOLS, format_length
from shop.web.amounts import money_text, number_text, price_text
from shop.web.wording import clock_position, day_text, time_text

register = template.Library()


@register.filter
def in_unit(value_um, unit):
    """A length in the person's unit, a dash where there is none."""
    return "–" if value_um is None else format_length(value_um, unit, with_unit=True)


@register.filter
def signed_in_unit(value_um, unit):
    """A length with its sign, also when it is plus."""
    return "–" if value_um is None else format_length(value_um, unit, signed=True, with_unit=True)


@register.filter
def signed_number(value_um, unit):
    """The same below a heading that names the unit."""
    return "–" if value_um is None else format_length(value_um, unit, signed=True)


@register.filter
def symbol(unit):
    """A unit as it is written."""
    return UNIT_SYMBOLS[unit]


@register.filter
def clock(deg):
    """An angle as a clock position: 90 is 3 o'clock."""
    return clock_position(deg)


@register.filter
def when(moment, shop):
    """A moment in the shop's zone, to the minute."""
    return "–" if moment is None else time_text(moment, shop.zone)


@register.filter
def day(moment, shop):
    """The day of a date or of a moment in the shop's zone."""
    if moment is None:
        return "–"
    is_day = isinstance(moment, date) and not hasattr(moment, "hour")
    return day_text(moment if is_day else moment.astimezone(shop.zone).date())


@register.filter
def money(amount, currency):
    """An amount with its currency, a dash where there is none."""
    return "–" if amount is None else money_text(amount, currency)


@register.filter
def price(amount, currency):
    """A unit price with its currency, a dash where there is none."""
    return "–" if amount is None else price_text(amount, currency)


@register.filter
def number(quantity):
    """A quantity without needless zeros."""
    return "–" if quantity is None else number_text(quantity)
