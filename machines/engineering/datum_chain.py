"""The datum chain as plain data: each station but the first is measured from another."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Station:
    """A station of the chain: its datum is the name of another, None for the first.

    ``tolerance_um`` is its tightest acceptance tolerance as an offset (half of a TIR), None
    where the sheet has none.
    """

    name: str
    kind: str
    datum: str | None = None
    tolerance_um: float | None = None


def way_back(station: Station, stations: Sequence[Station]) -> list[str]:
    """Names of the datums of a station, nearest first."""
    datums = {s.name: s.datum for s in stations}
    names = []
    datum = station.datum
    while datum is not None:
        names.append(datum)
        datum = datums[datum]
    return names


def datums_first(stations: Sequence[Station]) -> list[Station]:
    """The order given, but never a station before what it is measured from."""
    place = {station.name: index for index, station in enumerate(stations)}

    def path(station: Station) -> tuple[int, int]:
        latest = max((place[name] for name in way_back(station, stations)), default=-1)
        own = place[station.name]
        return max(latest, own), len(way_back(station, stations))

    return sorted(stations, key=path)


def check_chain(stations: Sequence[Station]) -> None:
    """ValueError unless every station leads back to one first station, each name once."""
    names = [station.name for station in stations]
    if len(set(names)) < len(names):
        raise ValueError("Two stations of the chain have the same name.")
    if sum(station.datum is None for station in stations) != 1:
        raise ValueError("A chain has exactly one first station, the master datum.")
    datums = {station.name: station.datum for station in stations}
    for station in stations:
        seen = {station.name}
        datum = station.datum
        while datum is not None:
            if datum not in datums:
                raise ValueError(f"The {station.name} is measured from an unknown “{datum}”.")
            if datum in seen:
                raise ValueError(f"The {station.name} is measured from itself, in a circle.")
            seen.add(datum)
            datum = datums[datum]
