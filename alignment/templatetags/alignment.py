"""How limits and computed lengths are written on pages."""

from django import template
from django.urls import reverse

from alignment.drift.words import chance_words
from alignment.figures.machine import KEY
from alignment.sheets import formatting
from alignment.sheets.directions import figure_shown, how_far_words, place_words
from alignment.sweeps.machine_pictures import machine_figure

register = template.Library()
# Which drawing shows: on a wide screen, on a narrow one.
SHOWN = ("wide", "narrow")


@register.filter
def limits(record, unit):
    """The limits of an item or a check in the person's unit."""
    return formatting.limits(record, unit)


@register.filter
def asked(item):
    """What a line asks for, in the trade's word for it on what is swept."""
    return formatting.quantity_words(item)


@register.filter
def seen_from(item):
    """Where what a picture shows is seen from; "" for the master datum."""
    return f"Seen from the {item.datum}." if item.datum else ""


@register.filter
def computed(value_um, unit):
    """A computed length in the person's unit, "not known" where it is not."""
    return formatting.length(value_um, unit)


@register.filter
def as_typed(text, unit):
    """A length as it was typed, with the unit it was taken in."""
    return formatting.as_typed(text, unit)


@register.filter
def measured(check, unit):
    """What a check found, in the person's unit, per its stated length where it is a tilt."""
    return formatting.measure(check.told_um, unit, check)


@register.filter
def factory(item, unit):
    """The factory's own figure of an item, a dash where the sheet has none."""
    return "–" if item.own_um is None else formatting.stated(item.own_um, unit, item)


@register.simple_tag
def stated(value_um, line, unit):
    """A limit or the factory's figure of a line of a list, with its direction; a dash for none."""
    if value_um is None:
        return "–"
    return figure_shown(value_um, line.quantity, lambda um: formatting.length(um, unit))


@register.filter
def millimetres(value):
    """A length along the machine in mm, without needless zeros."""
    return f"{value.normalize():f} mm"


@register.simple_tag
def place(front_um, up_um, unit):
    """Where something stands, in words; "true" where it does not stand off."""
    return place_words(front_um, up_um, unit) or "true"


@register.filter
def chance(share):
    """A chance in whole percent; neither nought nor certainty is told of one that is neither."""
    return chance_words(share)


@register.filter
def how_far(adjustment, unit):
    """How far a station was moved, in words after a comma; "" where that was not entered."""
    return how_far_words(adjustment, unit)


@register.inclusion_tag("alignment/_drawn_machine.html")
def drawn_machine(
    machine, unit, visit=None, figure=None, links="#station-", boxes=None, plain=False
):
    """The picture of a machine with its stations to tap.

    visit: as seen there, else as it stands today. figure: its `MachineFigure` where it is at hand,
    else it is gathered, a fixed number of queries. links: what stands before a station's key in
    the address that a tap leads to. boxes: instead, station key to the id of the form's box that a
    tap ticks. plain: the machine alone, without the end views.
    """
    sizes = [f"{shown}-plain" if plain else shown for shown in SHOWN]
    figure = figure or machine_figure(machine, unit, visit)
    src = f"{reverse('alignment:drawn_machine', args=[machine.pk])}?"
    if visit is not None:
        src += f"visit={visit.pk}&"
    return {
        "src": src,
        "alt": figure.describe(),
        "key": "" if plain else KEY,
        "sizes": dict(zip(SHOWN, sizes, strict=True)),
        "forms": [
            _taps(figure, shown, size, links, boxes)
            for shown, size in zip(SHOWN, sizes, strict=True)
        ],
        "boxes": boxes,
    }


def _taps(figure, shown, size, links, boxes):
    layout = figure.layout(size)
    places = [
        (station, rects, boxes.get(station.key, "") if boxes else f"{links}{station.key}")
        for station, rects in layout.places
    ]
    return {"shown": shown, "width": layout.width, "height": layout.height, "places": places}
