"""What a fit of drift lacks, and how that is said."""

from __future__ import annotations

import enum


class Remark(enum.IntFlag):
    """What a fit lacks, or what the reader should know of it."""

    NO_INTERVAL = enum.auto()
    NO_TIME = enum.auto()
    BACKWARDS = enum.auto()
    NOT_MEASURED = enum.auto()
    ALL_DISTURBED = enum.auto()
    ONE_INTERVAL = enum.auto()
    TOO_ALIKE = enum.auto()
    NO_UNCERTAINTY = enum.auto()
    IDENTICAL = enum.auto()


TOLD_BY_VISITS = Remark.NO_TIME | Remark.BACKWARDS | Remark.NOT_MEASURED
SENTENCES = {
    Remark.NO_INTERVAL: "There is no as left followed by an as found yet, so no drift to measure: "
    "it takes two visits.",
    Remark.NO_TIME: "No time or spindle hours passed between two visits; that interval says "
    "nothing about the rate.",
    Remark.BACKWARDS: "Time or spindle hours run backwards between two visits; that interval is "
    "left out.",
    Remark.NOT_MEASURED: "Between some visits the as found or the as left is missing; that "
    "interval is left out.",
    Remark.ALL_DISTURBED: "Every interval holds an incident, so wear and knocks cannot be told "
    "apart.",
    Remark.ONE_INTERVAL: "One undisturbed interval gives a rate, but nothing to judge its "
    "reliability by: no interval is given for it.",
    Remark.TOO_ALIKE: "The values agree better than their stated uncertainty allows (copied, "
    "rounded, or an indicator that sticks?); the interval comes from the stated uncertainty alone.",
    Remark.NO_UNCERTAINTY: "No measurement uncertainty is stated, so all scatter counts as "
    "wandering of the machine.",
    Remark.IDENTICAL: "All changes are identical and no uncertainty is stated: that is no proof of "
    "a steady machine, so no interval is given.",
}


def in_words(bits: int, told: tuple[str, ...] = ()) -> str:
    """The sentences for ``bits`` of ``Remark``, after those ``told`` visit by visit already."""
    left = Remark(bits & ~TOLD_BY_VISITS) if told else Remark(bits)
    return " ".join([*told, *(SENTENCES[bit] for bit in Remark if bit in left)])
