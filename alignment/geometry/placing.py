"""Where every station stands and points in the headstock spindle's frame.

The frame: z along the spindle, away from the headstock; right and up in the view from the
headstock along +z. Each link of the chain adds its measured offset and tilt to its datum's axis;
covariances are carried along to first order, and so are the links that two stations share.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from machines.engineering.inputs import finite

from .arrays import finite_array
from .axis import PER_MM, Axis
from .chain import checking_order, station_path
from .vectors import carried_covariance

# What a view from the far side turns round: right becomes left, and z runs the other way, so a
# slope to the right keeps its sign and a slope upwards changes it.
_VIEWS = {"from the headstock": np.ones(4), "to the headstock": np.array([-1.0, 1.0, 1.0, -1.0])}
_HOLDERS = {"datum": 1.0, "station": -1.0}


@dataclass(frozen=True, eq=False)
class Link:
    """One station measured from its datum.

    ``measured``: (right, up) in µm, or with (slope right, slope up) in µm per 100 mm behind, as
    the sweeps gave them in their own view; ``covariance`` (2, 2) or (4, 4) to match. ``z_mm``:
    the swept plane in the headstock's frame. ``view``: "from the headstock" or "to the
    headstock", the way the indicator looked. ``indicator_in``: "datum" when it turned with the
    datum and swept the station, "station" when it turned with the station and swept the datum.
    """

    station: str
    datum: str
    z_mm: float
    measured: Sequence[float]
    covariance: np.ndarray
    view: str = "from the headstock"
    indicator_in: str = "datum"
    dof_u: float = np.inf


@dataclass(frozen=True, eq=False)
class Placement:
    """Stations placed in the frame of ``first``.

    ``axes``: the axis of each station, its reference plane the one it was measured in.
    ``direction_measured``: False where a tilt on the way was never measured and was taken as
    none, its uncertainty left out.
    """

    first: str
    axes: dict[str, Axis]
    direction_measured: dict[str, bool]
    _effects: dict[str, np.ndarray]
    _noise: np.ndarray

    def seen_from(self, station: str, datum: str) -> Axis:
        """The axis of ``station`` relative to that of ``datum``, whether measured so or not.

        Links that both share drop out of the covariance. Raises ValueError for a station that
        was not placed.
        """
        for name in (station, datum):
            if name not in self.axes:
                raise ValueError(f"{name} was never measured, so it has no place.")
        one, other = self.axes[station], self.axes[datum]
        carry = _carried(one.z_ref_mm - other.z_ref_mm)
        effects = self._effects[station] - carry @ self._effects[datum]
        return Axis(
            z_ref_mm=one.z_ref_mm,
            parameters=one.parameters - carry @ other.parameters,
            covariance=carried_covariance(effects, self._noise),
            dof_u=min(one.dof_u, other.dof_u),
        )


def place_stations(links: Sequence[Link], first: str) -> Placement:
    """Place all stations of ``links``, in any order, in the frame of ``first``.

    Raises ValueError for a station measured from one that was never measured, a station measured
    twice, a loop, an unknown view, or figures that are not finite.
    """
    measured = _by_station(links, first)
    datum_of = {first: None, **{name: link.datum for name, link in measured.items()}}
    _refuse_gaps(datum_of, measured)
    order = [name for name in checking_order(datum_of) if name != first]
    shape = (4, 4 * len(order))
    axes = {first: Axis(0.0, np.zeros(4), np.zeros((4, 4)), np.inf)}
    effects, directions = {first: np.zeros(shape)}, {first: True}
    noise = np.zeros((shape[1], shape[1]))
    for index, name in enumerate(order):
        link, columns = measured[name], slice(4 * index, 4 * index + 4)
        turn = _in_frame(link)
        values, noise[columns, columns], tilted = _full(link)
        carry = _carried(link.z_mm - axes[link.datum].z_ref_mm)
        effects[name] = carry @ effects[link.datum]
        effects[name][:, columns] += turn
        directions[name] = tilted and directions[link.datum]
        axes[name] = Axis(
            z_ref_mm=float(link.z_mm),
            parameters=carry @ axes[link.datum].parameters + turn @ values,
            covariance=carried_covariance(effects[name], noise),
            dof_u=min(link.dof_u, axes[link.datum].dof_u),
        )
    return Placement(first, axes, directions, effects, noise)


def offset_in_frame(link: Link) -> tuple[float, float]:
    """The station's (right, up) from its datum at the swept plane, in the headstock's view."""
    right, up = (_in_frame(link) @ _full(link)[0])[:2]
    return float(right), float(up)


def _by_station(links: Sequence[Link], first: str) -> dict[str, Link]:
    measured: dict[str, Link] = {}
    for link in links:
        if link.station in measured:
            raise ValueError(f"{link.station} is given twice; keep the link that counts.")
        if link.station == first:
            raise ValueError(f"{first} is the datum of all and is measured from nothing.")
        measured[link.station] = link
    return measured


def _refuse_gaps(datum_of: dict, measured: dict[str, Link]) -> None:
    for name, link in measured.items():
        if link.datum not in datum_of:
            raise ValueError(
                f"{name} is measured from {link.datum}, and {link.datum} was never measured."
            )
        station_path(datum_of, name)


def _in_frame(link: Link) -> np.ndarray:
    """(4, 4) that turns a link's figures into station minus datum in the headstock's view."""
    if link.view not in _VIEWS:
        raise ValueError(f"The indicator looks {' or '.join(_VIEWS)}, not {link.view!r}.")
    if link.indicator_in not in _HOLDERS:
        raise ValueError(
            f"The indicator sits in the datum or the station, not in {link.indicator_in!r}."
        )
    return _HOLDERS[link.indicator_in] * np.diag(_VIEWS[link.view])


def _full(link: Link) -> tuple[np.ndarray, np.ndarray, bool]:
    """Four figures, their covariance (4, 4), and whether the tilt was measured."""
    finite(link.z_mm, f"{link.station}: the swept plane")
    values = finite_array(link.measured, f"measured figures of {link.station}")
    covariance = np.asarray(link.covariance, dtype=float)
    if len(values) not in (2, 4) or covariance.shape != (len(values), len(values)):
        raise ValueError(
            f"{link.station}: expected two figures (right, up) or four (with both slopes), and a "
            f"covariance to match; there are {len(values)} and {covariance.shape}."
        )
    full = np.zeros((4, 4))
    full[: len(values), : len(values)] = covariance
    return np.pad(values, (0, 4 - len(values))), full, len(values) == 4


def _carried(distance_mm: float) -> np.ndarray:
    """(4, 4) that moves an axis' reference plane by ``distance_mm`` along z."""
    carry = np.eye(4)
    carry[:2, 2:] = np.eye(2) * distance_mm / PER_MM
    return carry
