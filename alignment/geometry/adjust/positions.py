"""Where every station stands and points in the machine's frame, from the headstock's axis.

The frame is that of ``frame``: front, up, and z along the spindle, away from the headstock. Each
link of the chain adds its measured offset and lean to its datum's axis; covariances are carried
along to first order, and so are the links that two stations share. A link that closes a loop is
then weighed against them: weighted least squares over all links, each by its own covariance.
Source: least squares with correlated observations, as in any text on linear regression.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from alignment.geometry.arrays import finite_array
from alignment.geometry.measure.axis import PER_MM, Axis
from alignment.geometry.vectors import carried_covariance, region_factor
from machines.engineering.inputs import finite

from .chain import checking_order, station_path


@dataclass(frozen=True, eq=False)
class Link:
    """One station measured from its datum, or for a loop from any other station.

    ``measured``: (front, up) in µm, or with (lean front, lean up) in µm per 100 mm behind, as
    ``frame`` turns them; ``covariance`` (2, 2) or (4, 4) to match. ``z_mm``: the swept plane,
    from the headstock's nose.
    """

    station: str
    datum: str
    z_mm: float
    measured: Sequence[float]
    covariance: np.ndarray
    dof_u: float = np.inf


@dataclass(frozen=True, eq=False)
class Closure:
    """A link that closes a loop, held against the sum of the others.

    ``front_um``, ``up_um``: by how much the station stands elsewhere by this link than by the
    others, with ``covariance_um2`` (2, 2). ``closes``: no more than 95 % of such differences are;
    None where an uncertainty on the way is not known.
    """

    link: Link
    front_um: float
    up_um: float
    covariance_um2: np.ndarray
    closes: bool | None

    @property
    def gap_um(self) -> float:
        return float(np.hypot(self.front_um, self.up_um))

    @property
    def u_um(self) -> float:
        """Standard uncertainty along the gap, of the less certain direction where there is none."""
        if not np.isfinite(self.covariance_um2).all():
            return np.inf
        if not self.gap_um:
            return float(np.sqrt(np.linalg.eigvalsh(self.covariance_um2)[-1]))
        along = np.array([self.front_um, self.up_um]) / self.gap_um
        return float(np.sqrt(along @ self.covariance_um2 @ along))


@dataclass(frozen=True, eq=False)
class Placement:
    """Stations placed in the frame of ``first``.

    ``axes``: the axis of each station, its parameters (front, up, lean front, lean up) and its
    reference plane the one it was measured in. ``direction_measured``: False where a lean on the
    way was never measured and was taken as none, its uncertainty left out. ``closures``: one for
    each link that closes a loop.
    """

    first: str
    axes: dict[str, Axis]
    direction_measured: dict[str, bool]
    _effects: dict[str, np.ndarray]
    _noise: np.ndarray
    closures: tuple[Closure, ...] = ()


def place_stations(links: Sequence[Link], first: str, extra: Sequence[Link] = ()) -> Placement:
    """Place all stations of ``links``, in any order, in the frame of ``first``.

    ``extra``: links between stations that are placed by the others already. Without any, a
    station stands at the plain sum of the links on its way. Raises ValueError for a station
    measured from one that was never measured, a station measured twice, a loop among ``links``,
    an extra link of a station that was not placed, or figures that are not finite.
    """
    placed = _along_the_chain(links, first)
    for link in extra:
        placed = _closed(placed, link)
    return placed


def _along_the_chain(links: Sequence[Link], first: str) -> Placement:
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
        values, noise[columns, columns], leans = _full(link)
        carry = _carried(link.z_mm - axes[link.datum].z_ref_mm)
        effects[name] = carry @ effects[link.datum]
        effects[name][:, columns] += np.eye(4)
        directions[name] = leans and directions[link.datum]
        axes[name] = Axis(
            z_ref_mm=float(link.z_mm),
            parameters=carry @ axes[link.datum].parameters + values,
            covariance=carried_covariance(effects[name], noise),
            dof_u=min(link.dof_u, axes[link.datum].dof_u),
        )
    return Placement(first, axes, directions, effects, noise)


def _closed(placed: Placement, link: Link) -> Placement:
    """The placement with one more link weighed in, and what it says against the rest."""
    values, covariance, leans = _full(link)
    for name in (link.station, link.datum):
        if name not in placed.axes:
            raise ValueError(f"{name} was never measured, so no loop closes there.")
    rows = 4 if leans else 2
    one, other = placed.axes[link.station], placed.axes[link.datum]
    there, back = _carried(link.z_mm - one.z_ref_mm), _carried(link.z_mm - other.z_ref_mm)
    effects = there @ placed._effects[link.station] - back @ placed._effects[link.datum]
    gap = (values - there @ one.parameters + back @ other.parameters)[:rows]
    spread = carried_covariance(effects, placed._noise)[:rows, :rows] + covariance[:rows, :rows]
    dof_u = min(one.dof_u, other.dof_u, link.dof_u)
    closure = _closure(link, gap[:2], spread[:2, :2], dof_u)
    told = (*placed.closures, closure)
    if closure.closes is None or not np.isfinite(spread).all():
        return Placement(placed.first, placed.axes, placed.direction_measured, placed._effects,
                         placed._noise, told)  # fmt: skip
    return _weighed(placed, effects[:rows], gap, spread, told)


def _closure(link: Link, gap, spread, dof_u) -> Closure:
    closes = None
    if np.isfinite(spread).all() and np.linalg.eigvalsh(spread)[0] > 0:
        closes = bool(gap @ np.linalg.solve(spread, gap) <= region_factor(dof_u))
    return Closure(link, float(gap[0]), float(gap[1]), spread, closes)


def _weighed(placed: Placement, effects, gap, spread, closures) -> Placement:
    """Share the gap out among all links by their covariances."""
    known = np.isfinite(np.diagonal(placed._noise))
    usable = np.where(known[:, None] & known[None, :], placed._noise, 0.0)
    gain = usable @ effects.T @ np.linalg.pinv(spread)
    shares = gain @ gap
    less = np.where(np.isfinite(placed._noise), placed._noise - gain @ effects @ usable, np.inf)
    axes = {
        name: Axis(
            z_ref_mm=axis.z_ref_mm,
            parameters=axis.parameters + placed._effects[name] @ shares,
            covariance=carried_covariance(placed._effects[name], less),
            dof_u=axis.dof_u,
        )
        for name, axis in placed.axes.items()
    }
    return Placement(placed.first, axes, placed.direction_measured, placed._effects, less, closures)


def _by_station(links: Sequence[Link], first: str) -> dict[str, Link]:
    measured: dict[str, Link] = {}
    for link in links:
        if link.station in measured:
            raise ValueError(f"{link.station} is given twice; keep the link that counts.")
        if link.station == first:
            raise ValueError(f"{first} is the master datum and is measured from nothing.")
        measured[link.station] = link
    return measured


def _refuse_gaps(datum_of: dict, measured: dict[str, Link]) -> None:
    for name, link in measured.items():
        if link.datum not in datum_of:
            raise ValueError(
                f"{name} is measured from {link.datum}, and {link.datum} was never measured."
            )
        station_path(datum_of, name)


def _full(link: Link) -> tuple[np.ndarray, np.ndarray, bool]:
    """Four figures, their covariance (4, 4), and whether the lean was measured."""
    finite(link.z_mm, f"{link.station}: the swept plane")
    values = finite_array(link.measured, f"measured figures of {link.station}")
    covariance = np.asarray(link.covariance, dtype=float)
    if len(values) not in (2, 4) or covariance.shape != (len(values), len(values)):
        raise ValueError(
            f"{link.station}: expected two figures (front, up) or four (with both leans), and a "
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
