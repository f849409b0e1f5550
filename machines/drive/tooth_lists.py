"""Teeth and their conditions as people type them, such as '12 damaged, 13-15 worn'.

A condition belongs to the teeth written before it, back to the condition before: in '12, 14 and
17 damaged' all three are damaged. Nothing is guessed: what can be read in two ways is refused.
"""

import re
from itertools import groupby

from machines.engineering.belts import CONDITION_WORDS, CONDITIONS, summarise_teeth, teeth_from_to

DAMAGE = CONDITIONS[1:]
DAMAGE_WORDS = [CONDITION_WORDS[key] for key in DAMAGE]
# The stored key may be typed as well as the word.
TYPED = {key: key for key in CONDITIONS} | {CONDITION_WORDS[key]: key for key in CONDITIONS}
EXPECTED = "Expected teeth and then what they are, such as: 12 damaged, 13-15 worn."

_TOKEN = re.compile(
    r"(?P<first>[0-9]+)\s*(?:[-–—]|\bto\b)\s*(?P<last>[0-9]+)"
    r"|(?P<tooth>[0-9]+)"
    r"|(?P<word>[^\W\d_]+)"
    r"|(?P<gap>[\s,;:&]+)"
)
_DAMAGE_NAMED = f"{', '.join(DAMAGE_WORDS[:-1])} or {DAMAGE_WORDS[-1]}"
_FILLERS = {"and", "tooth", "teeth"}
_LONGEST_NUMBER = 5


def parse_tooth_list(text: str, teeth_count: int) -> dict[int, str]:
    """Tooth number to condition, of the teeth in ``text`` that are not sound.

    ``teeth_count`` is the number of teeth of the belt. A run may go over the joint of the count:
    '95-2' of 96 is four teeth. An empty text is an empty map. Raises ValueError, in words for the
    person who typed it, for a tooth the belt does not have, a tooth given two conditions, teeth
    without a condition or a condition without teeth, and anything else in the text.
    """
    found: dict[int, str] = {}
    waiting: list[int] = []
    for token in _tokens(text):
        if token["word"]:
            condition = _condition(token["word"], waiting)
            for tooth in waiting:
                _note(found, tooth, condition)
            waiting = []
        else:
            waiting += _teeth(token, teeth_count)
    if waiting:
        raise ValueError(f"What is tooth {waiting[-1]}? Write {_DAMAGE_NAMED} after it.")
    return {tooth: condition for tooth, condition in sorted(found.items()) if condition in DAMAGE}


def format_tooth_list(conditions: dict[int, str]) -> str:
    """The list that ``parse_tooth_list`` reads back as ``conditions``; sound teeth are left out.

    Neighbours of one condition are drawn together: '12 damaged, 13-15 worn'. Empty for a sound
    belt.
    """
    damaged = sorted((t, c) for t, c in conditions.items() if c != "sound")
    runs = groupby(enumerate(damaged), key=lambda pair: (pair[1][0] - pair[0], pair[1][1]))
    return ", ".join(_run_text([tooth for _, (tooth, _) in run], c) for (_, c), run in runs)


def summary_sentence(teeth_count: int, conditions: dict[int, str]) -> str:
    """What a tooth map says in one sentence, the damaged teeth named.

    Raises ValueError for a tooth the belt does not have or a condition that does not exist.
    """
    summary = summarise_teeth(teeth_count, conditions)
    if not summary.damaged:
        return summary.sentence
    return (
        f"{len(summary.damaged)} of {teeth_count} teeth not sound: {format_tooth_list(conditions)}."
    )


def _run_text(teeth, condition):
    numbers = f"{teeth[0]}" if len(teeth) == 1 else f"{teeth[0]}-{teeth[-1]}"
    return f"{numbers} {CONDITION_WORDS[condition]}"


def _tokens(text):
    """The numbers, runs and words of a text in order; ValueError for anything else in it."""
    at = 0
    text = text.casefold()
    while at < len(text):
        token = _TOKEN.match(text, at)
        if token is None:
            raise ValueError(f"“{text[at : at + 12].strip()}” cannot be read here. {EXPECTED}")
        at = token.end()
        if not token["gap"] and token["word"] not in _FILLERS:
            yield token


def _condition(word, waiting):
    if word not in TYPED:
        raise ValueError(f"“{word}” is no condition of a tooth; expected {_DAMAGE_NAMED}.")
    if not waiting:
        raise ValueError(f"“{word}” has no tooth before it. {EXPECTED}")
    return TYPED[word]


def _teeth(token, teeth_count):
    """The teeth of one number or one run, each of which the belt has."""
    first = _number(token["first"] or token["tooth"])
    last = _number(token["last"] or token["tooth"])
    teeth = teeth_from_to(first, last, teeth_count)
    if last < first and len(teeth) > teeth_count / 2:
        raise ValueError(
            f"From {first} on to {last} is {len(teeth)} of the {teeth_count} teeth; "
            f"write {last}-{first} for the teeth in between."
        )
    return teeth


def _number(digits):
    if len(digits) > _LONGEST_NUMBER:
        raise ValueError(f"“{digits[:12]}…” is no number of a tooth. {EXPECTED}")
    return int(digits)


def _note(found, tooth, condition):
    if found.setdefault(tooth, condition) != condition:
        raise ValueError(
            f"Tooth {tooth} stands twice: {CONDITION_WORDS[found[tooth]]} and "
            f"{CONDITION_WORDS[condition]}."
        )
