"""Which axes move a station against its datum: what is wrong with a choice, and keeping it."""

from django.db import transaction

from alignment.geometry.frame import OPPOSITE
from machines.register.models import StationMover

from .directions import WORDS


def refuse_bad_movers(station, axes):
    """Raise ValueError, in words, for axes that cannot each move a station a way of their own.

    Two that move it along the same line leave open which one is meant, and one that moves its
    datum too moves it nowhere against that.
    """
    lines = {}
    for axis in axes:
        line = frozenset((axis.plus, OPPOSITE.get(axis.plus)))
        if axis.plus not in OPPOSITE:
            continue
        if line in lines:
            ways = " and ".join(WORDS[way] for way in sorted(line))
            raise ValueError(
                f"{lines[line]} and {axis} both move the {station} {ways}; choose the one that "
                "sets it true."
            )
        lines[line] = axis
    if station.datum_id is None:
        return
    along = StationMover.objects.filter(station=station.datum_id, axis__in=axes)
    if shared := along.select_related("axis").first():
        raise ValueError(
            f"{shared.axis} moves the {station.datum} too, from which the {station} is measured: "
            "it takes both along and moves neither against the other."
        )


@transaction.atomic
def set_movers(station, axes):
    """Name the axes that move a station, in place of those named before."""
    refuse_bad_movers(station, axes)
    station.movers.exclude(axis__in=axes).delete()
    for axis in axes:
        StationMover.objects.get_or_create(station=station, axis=axis)
