"""What makes a PIN one that anybody would try first. Pure: no Django here."""

import itertools

SHORTEST, LONGEST = 4, 8


def why_refused(pin):
    """Why a PIN is refused, in a sentence; empty for one that may be taken.

    Refused are other than 4 to 8 digits, one digit over and over, digits in a row up or down (9 is
    followed by 0), a shorter run of digits repeated, and years: what people choose most often and
    so what is tried first (common practice, no source).
    """
    if not (pin.isascii() and pin.isdigit()) or not SHORTEST <= len(pin) <= LONGEST:
        return f"A PIN has {SHORTEST} to {LONGEST} digits and nothing else."
    if len(set(pin)) == 1:
        return "One digit over and over is tried first; choose another PIN."
    if _in_a_row(pin):
        return "Digits in a row are tried first; choose another PIN."
    if _repeats(pin):
        return "The same digits again and again are tried first; choose another PIN."
    if len(pin) == SHORTEST and pin.startswith(("19", "20")):
        return "A year is tried first; choose another PIN."
    return ""


def _in_a_row(pin):
    steps = {(int(after) - int(before)) % 10 for before, after in itertools.pairwise(pin)}
    return steps in ({1}, {9})


def _repeats(pin):
    """Whether a run of at most half the digits, repeated, makes the whole; as in 1212 or 123123."""
    return pin in (pin + pin)[1:-1]
