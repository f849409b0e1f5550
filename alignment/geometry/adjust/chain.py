"""The datum chain: who is measured from whom, and in what order.

A chain is a mapping from each station to its datum, None for the first, such as
``{"headstock": None, "guide bushing": "headstock", "sub-spindle": "guide bushing"}``.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from itertools import pairwise
from typing import TypeVar

Station = TypeVar("Station", bound=Hashable)
Chain = Mapping[Station, Station | None]


def checking_order(datum_of: Chain) -> tuple:
    """The stations with each datum before what is measured from it, else in the order given.

    Raises ValueError, naming the stations, for an empty chain, a loop, a datum that is no station
    of the chain, and for any number of first stations but one.
    """
    if not datum_of:
        raise ValueError("The chain holds no station.")
    paths = {station: station_path(datum_of, station) for station in datum_of}
    firsts = [station for station, datum in datum_of.items() if datum is None]
    if len(firsts) > 1:
        names = " and ".join(str(first) for first in firsts)
        raise ValueError(f"Only one station can be the master datum; {names} have no datum.")
    order: dict = {}
    for path in paths.values():
        order.update(dict.fromkeys(path))
    return tuple(order)


def station_path(datum_of: Chain, station) -> tuple:
    """The stations from the first to ``station``, each the datum of the next.

    Raises ValueError for a loop on the way, or a datum that is no station of the chain.
    """
    path = [station]
    while True:
        here = path[-1]
        if here not in datum_of:
            below = f"; {path[-2]} is said to be measured from it" if len(path) > 1 else ""
            raise ValueError(f"{here} is not a station of this chain{below}.")
        datum = datum_of[here]
        if datum is None:
            return tuple(reversed(path))
        if datum in path:
            raise ValueError(_loop_sentence([*path[path.index(datum) :], datum]))
        path.append(datum)


def measured_from(datum_of: Chain, station) -> tuple:
    """All stations measured from ``station``, directly or through others, in checking order."""
    station_path(datum_of, station)
    return tuple(
        other
        for other in checking_order(datum_of)
        if other != station and station in station_path(datum_of, other)
    )


def _loop_sentence(loop: list) -> str:
    links = [f"{a} is measured from {b}" for a, b in pairwise(loop)]
    return f"The chain runs in a circle: {', '.join(links)}."
