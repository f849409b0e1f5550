"""Which single station's move explains several readings that went bad.

When a station moves alone, it reads off from its datum, and whatever is measured from it reads
off by as much the other way, though it never moved. Each station is tried in turn, alone and
together with everything measured from it; the move that leaves least unexplained comes first.
Least squares on each hypothesis; a chain of readings is its own evidence.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy import special

from alignment.geometry.arrays import finite_array

from .chain import Chain, checking_order, measured_from

# A reading off by more than this (chi-square, 95 %, front and up) is bad where no tolerance is set.
_BEYOND_CHANCE = float(special.chdtri(2, 0.05))


@dataclass(frozen=True, eq=False)
class Deviation:
    """How far a station stands from where it should, as measured from its datum.

    In the machine's frame; ``covariance_um2`` (2, 2) of (front, up). With ``tolerance_um`` the
    reading is bad beyond it, and half of it counts as ordinary drift; without, it is bad beyond
    its uncertainty.
    """

    front_um: float
    up_um: float
    covariance_um2: np.ndarray
    tolerance_um: float | None = None


@dataclass(frozen=True, eq=False)
class Culprit:
    """One hypothesis: ``station`` moved by (front, up).

    ``with_all_beyond``: everything measured from it moved along. ``explains``: bad readings that
    come right by it; ``leaves``: those that stay bad. ``explained``: share of all deviation
    (weighted squares) it accounts for, 0 to 1. ``sentence`` says it in words, without lengths.
    """

    station: str
    with_all_beyond: bool
    front_um: float
    up_um: float
    move_um: float
    covariance_um2: np.ndarray
    explains: tuple[str, ...]
    leaves: tuple[str, ...]
    explained: float
    sentence: str


def explain_bad_chain(datum_of: Chain, deviations: Mapping[str, Deviation]) -> tuple[Culprit, ...]:
    """The hypotheses that explain a bad reading at least, the best first; none when all is well.

    ``deviations`` holds the measured stations; the first station of the chain has none. One whose
    covariance is unknown counts by its tolerance alone, and not at all without one. Between equal
    explanations a station that itself reads off is preferred, then one that moved alone; so the
    first station comes last: a crash is least likely to have moved it (common practice, no
    source). Raises ValueError for a
    broken chain, a deviation of a station not in it, and figures that are not finite.
    """
    order = checking_order(datum_of)
    for name in deviations:
        if name not in order or datum_of[name] is None:
            raise ValueError(f"{name} is not measured from another station of this chain.")
    usable = [
        name for name in order if name in deviations and _weight(deviations[name]) is not None
    ]
    values = {name: _vector(deviations[name], name) for name in usable}
    bad = {name for name in usable if _is_bad(values[name], deviations[name])}
    found = []
    for name, together in _hypotheses(datum_of, order):
        signs = _signs(datum_of, usable, name, together)
        if any(signs.values()):
            found.append(_tried(datum_of, deviations, values, bad, name, together, signs))
    ranked = sorted(
        (culprit for culprit in found if culprit.explains),
        key=lambda c: (
            len(c.leaves),
            -round(c.explained, 9),
            c.station not in c.explains,
            c.with_all_beyond,
        ),
    )
    return tuple(ranked)


def _hypotheses(datum_of: Chain, order: tuple):
    for name in order:
        yield name, False
        if datum_of[name] is not None and measured_from(datum_of, name):
            yield name, True


def _signs(datum_of: Chain, usable: list, name: str, together: bool) -> dict[str, float]:
    """By what each measured station's deviation follows the move of ``name``."""
    signs = dict.fromkeys(usable, 0.0)
    for other in usable:
        if other == name:
            signs[other] = 1.0
        elif datum_of[other] == name and not together:
            signs[other] = -1.0
    return signs


def _tried(datum_of, deviations, values, bad, name, together, signs) -> Culprit:
    weights = {other: _weight(deviations[other]) for other in values}
    normal = sum(signs[o] ** 2 * weights[o] for o in values)
    pulled = sum(signs[o] * weights[o] @ values[o] for o in values)
    move = np.linalg.solve(normal, pulled)
    total = sum(values[o] @ weights[o] @ values[o] for o in values)
    left = {o for o in values if _is_bad(values[o] - signs[o] * move, deviations[o])}
    explains = tuple(o for o in values if o in bad and o not in left)
    leaves = tuple(o for o in values if o in left)
    return Culprit(
        station=name,
        with_all_beyond=together,
        front_um=float(move[0]),
        up_um=float(move[1]),
        move_um=float(np.hypot(*move)),
        covariance_um2=np.linalg.inv(normal),
        explains=explains,
        leaves=leaves,
        explained=float(pulled @ move / total) if total else 0.0,
        sentence=_sentence(datum_of, name, together, explains, leaves),
    )


def _vector(deviation: Deviation, name: str) -> np.ndarray:
    return finite_array([deviation.front_um, deviation.up_um], f"deviations of {name}")


def _is_bad(vector: np.ndarray, deviation: Deviation) -> bool:
    if deviation.tolerance_um is not None:
        return bool(np.hypot(*vector) > deviation.tolerance_um)
    return bool(vector @ _weight(deviation) @ vector > _BEYOND_CHANCE)


def _weight(deviation: Deviation) -> np.ndarray | None:
    """Inverse of what a deviation may be by its uncertainty and ordinary drift; None if unknown."""
    covariance = np.asarray(deviation.covariance_um2, dtype=float)
    known = bool(np.isfinite(covariance).all())
    if deviation.tolerance_um is None:
        singular = not known or np.linalg.eigvalsh(covariance)[0] <= 0
        return None if singular else np.linalg.inv(covariance)
    if not deviation.tolerance_um > 0:
        raise ValueError(f"A tolerance must be above zero, not {deviation.tolerance_um:g}.")
    drift = np.eye(2) * (deviation.tolerance_um / 2) ** 2
    return np.linalg.inv(drift + covariance if known else drift)


def _sentence(datum_of, name, together, explains, leaves) -> str:
    datum = datum_of[name]
    cleared = [other for other in explains if datum_of[other] == name]
    if together:
        text = (
            f"Everything measured from the {name} still agrees with it: the {name} moved against "
            f"the {datum} and took the rest along"
        )
        only = sum(other == datum for other in datum_of.values()) == 1
        text += f", or the {datum} moved." if only else "."
    elif datum is None:
        text = (
            f"What is measured from the {name} reads off alike: the {name} moved, or all the "
            "rest moved together."
        )
    elif cleared:
        verb = "is" if len(cleared) == 1 else "are"
        text = f"Measured from the {datum}, the {_listed(cleared)} {verb} fine: the {name} moved."
    else:
        text = f"Only the {name} reads off: the {name} moved."
    return f"{text} That leaves the {_listed(leaves)} unexplained." if leaves else text


def _listed(names) -> str:
    return " and the ".join(str(name) for name in names)
