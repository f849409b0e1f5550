"""Synchronous belts: standard profiles, and the condition of a belt tooth by tooth.

A belt is a loop: the last tooth neighbours tooth 1. Drives (pulleys, centre distance, ratio) are
in ``belt_drives``, tension in ``belt_tension``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from .inputs import whole

# From good to bad; the order says what counts as having got worse.
CONDITIONS = ("sound", "marked", "worn", "cracked", "missing")
# What people read and type; a tooth on record as marked has a nick, a cut or a chip.
CONDITION_WORDS = {key: "damaged" if key == "marked" else key for key in CONDITIONS}

# A belt with fewer teeth closes round no pair of pulleys: six is the fewest a pulley should mesh
# (common practice, from memory), so ten is already generous.
FEWEST_BELT_TEETH = 10

_ISO_5296 = "ISO 5296:2012 (trapezoidal, inch pitch)"
_ISO_13050 = "ISO 13050 (curvilinear, metric pitch)"
_IN_USE = "in general use; not named in the scope of ISO 13050:1999"


@dataclass(frozen=True)
class Profile:
    """A belt tooth profile: its code, pitch in mm, and where the pitch is laid down."""

    code: str
    pitch_mm: float
    source: str


# ISO 5296 pitches are whole fractions of an inch (0.08, 0.2, 3/8, 1/2, 7/8, 1 1/4 in x 25.4).
# ISO 13050:1999 clause 3 standardizes the H, R and S profiles with 8 and 14 mm pitch.
PROFILES = {
    profile.code: profile
    for profile in (
        Profile("MXL", 2.032, _ISO_5296),
        Profile("XL", 5.08, _ISO_5296),
        Profile("L", 9.525, _ISO_5296),
        Profile("H", 12.7, _ISO_5296),
        Profile("XH", 22.225, _ISO_5296),
        Profile("XXH", 31.75, _ISO_5296),
        Profile("3M", 3.0, _IN_USE),
        Profile("5M", 5.0, _IN_USE),
        Profile("H8M", 8.0, _ISO_13050),
        Profile("R8M", 8.0, _ISO_13050),
        Profile("S8M", 8.0, _ISO_13050),
        Profile("H14M", 14.0, _ISO_13050),
        Profile("R14M", 14.0, _ISO_13050),
        Profile("S14M", 14.0, _ISO_13050),
    )
}


@dataclass(frozen=True)
class ToothChange:
    """One tooth that changed between two maps, with its condition before and now."""

    tooth: int
    before: str
    now: str


@dataclass(frozen=True)
class ToothSummary:
    """What a tooth map says.

    ``counts`` has every condition as a key. ``damaged`` are the teeth that are not sound, in
    order; ``runs`` groups those next to each other round the loop (longest first, each in the
    order the belt passes); ``neighbours`` are the runs of two or more. Against the map of last
    time: ``new`` were sound, ``worsened`` were damaged and are worse, ``better`` look better than
    last time, which a belt cannot do by itself: another belt, or counted from another tooth.
    """

    teeth_count: int
    counts: dict[str, int]
    damaged: tuple[int, ...]
    runs: tuple[tuple[int, ...], ...]
    new: tuple[ToothChange, ...] = ()
    worsened: tuple[ToothChange, ...] = ()
    better: tuple[ToothChange, ...] = ()

    @property
    def longest_run(self) -> int:
        """Teeth in the longest run of damaged teeth; 0 for a sound belt."""
        return len(self.runs[0]) if self.runs else 0

    @property
    def neighbours(self) -> tuple[tuple[int, ...], ...]:
        return tuple(run for run in self.runs if len(run) > 1)

    @property
    def worst(self) -> str:
        """The worst condition found on any tooth."""
        return next(c for c in reversed(CONDITIONS) if self.counts[c])

    @property
    def sentence(self) -> str:
        """The map in one plain sentence."""
        if not self.damaged:
            return f"All {self.teeth_count} teeth are sound."
        found = ", ".join(
            f"{self.counts[c]} {CONDITION_WORDS[c]}" for c in CONDITIONS[1:] if self.counts[c]
        )
        together = f", {self.longest_run} of them next to each other" if self.neighbours else ""
        return f"Of {self.teeth_count} teeth: {found}{together}."


def summarise_teeth(
    teeth_count: int,
    conditions: Mapping[int, str],
    previous: Mapping[int, str] | None = None,
) -> ToothSummary:
    """Sum up a tooth map.

    ``conditions`` maps tooth numbers (1 to ``teeth_count``) to one of ``CONDITIONS``; a tooth not
    named is sound. ``previous`` is the map of last time, for what grew since; without it nothing
    counts as new. An empty map is a sound belt. Raises ValueError for a tooth the belt does not
    have or a condition that does not exist.
    """
    teeth_count = whole(teeth_count, "The number of belt teeth", FEWEST_BELT_TEETH)
    _check_map(teeth_count, conditions)
    changes: tuple[ToothChange, ...] = ()
    if previous is not None:
        _check_map(teeth_count, previous)
        changes = _changes(previous, conditions)
    damaged = tuple(sorted(t for t, c in conditions.items() if c != "sound"))
    counts = {c: sum(found == c for found in conditions.values()) for c in CONDITIONS}
    counts["sound"] = teeth_count - len(damaged)
    return ToothSummary(
        teeth_count=teeth_count,
        counts=counts,
        damaged=damaged,
        runs=_runs_on_a_loop(damaged, teeth_count),
        new=tuple(c for c in changes if c.before == "sound"),
        worsened=tuple(c for c in changes if c.before != "sound" and _grew(c)),
        better=tuple(c for c in changes if not _grew(c)),
    )


def teeth_from_to(first: int, last: int, teeth_count: int) -> tuple[int, ...]:
    """The teeth from ``first`` up to ``last`` in the order the belt passes, both included.

    From 95 to 2 of 96 is 95, 96, 1, 2: the run goes over the joint of the count. ValueError for a
    tooth the belt does not have.
    """
    teeth_count = whole(teeth_count, "The number of belt teeth", FEWEST_BELT_TEETH)
    for tooth in (first, last):
        _check_tooth(tooth, teeth_count)
    length = (last - first) % teeth_count + 1
    return tuple((first - 1 + step) % teeth_count + 1 for step in range(length))


def _check_map(teeth_count: int, conditions: Mapping[int, str]) -> None:
    for tooth, condition in conditions.items():
        _check_tooth(tooth, teeth_count)
        if condition not in CONDITIONS:
            expected = ", ".join(CONDITIONS)
            raise ValueError(f"Tooth {tooth} is “{condition}”; expected one of {expected}.")


def _check_tooth(tooth: int, teeth_count: int) -> None:
    if not isinstance(tooth, int) or not 1 <= tooth <= teeth_count:
        raise ValueError(f"There is no tooth {tooth} on a belt with teeth 1 to {teeth_count}.")


def _changes(previous: Mapping[int, str], now: Mapping[int, str]) -> tuple[ToothChange, ...]:
    pairs = (
        ToothChange(tooth, previous.get(tooth, "sound"), now.get(tooth, "sound"))
        for tooth in sorted(previous.keys() | now.keys())
    )
    return tuple(change for change in pairs if change.before != change.now)


def _grew(change: ToothChange) -> bool:
    return CONDITIONS.index(change.now) > CONDITIONS.index(change.before)


def _runs_on_a_loop(damaged: tuple[int, ...], teeth_count: int) -> tuple[tuple[int, ...], ...]:
    runs: list[list[int]] = []
    for tooth in damaged:
        if runs and tooth == runs[-1][-1] + 1:
            runs[-1].append(tooth)
        else:
            runs.append([tooth])
    if len(runs) > 1 and runs[0][0] == 1 and runs[-1][-1] == teeth_count:
        runs[0] = runs.pop() + runs[0]
    return tuple(sorted(map(tuple, runs), key=lambda run: (-len(run), run[0])))
