"""The tooth map of a belt: every tooth by shape and letter, with the map of last time below."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import ceil

from machines.engineering.belts import CONDITION_WORDS, CONDITIONS
from shop.paper.drawing import SMALL, Pen, listed, wrapped
from shop.paper.fonts import text_width
from shop.paper.palettes import LIGHT

WIDTH = 360
MARGIN = 12
LOOP_ROOM = 18
TEETH_PER_ROW = 16
PITCH = (WIDTH - 2 * MARGIN - LOOP_ROOM) / TEETH_PER_ROW
BACK = 5
TOOTH_HEIGHT = 15
ROW_HEIGHT = 58
PREVIOUS_ROW = 14
LETTER = 9
LINE = 15
KEY_GAP = 9
KEY_TOOTH = 17
NUMBER_EVERY = 5

# Letters are the second way of telling conditions apart, beside the shape of the tooth.
LETTERS = {"sound": "", "marked": "D", "worn": "W", "cracked": "C", "missing": "×"}


@dataclass(frozen=True)
class BeltFigure:
    """A belt of ``teeth_count`` teeth, counted from its mark in running direction.

    ``conditions`` maps tooth numbers to one of the tooth conditions; a tooth not named is sound.
    ``previous`` is the map of last time. Raises ValueError for a tooth the belt does not have or
    a condition that is not known.
    """

    belt: str
    teeth_count: int
    conditions: Mapping[int, str] = field(default_factory=dict)
    previous: Mapping[int, str] | None = None

    def __post_init__(self):
        if self.teeth_count < 1:
            raise ValueError(f"A belt has at least one tooth, not {self.teeth_count}.")
        for tooth, condition in [*self.conditions.items(), *(self.previous or {}).items()]:
            if not 1 <= tooth <= self.teeth_count:
                raise ValueError(f"The belt has teeth 1 to {self.teeth_count}, not {tooth}.")
            if condition not in CONDITIONS:
                raise ValueError(
                    f"Tooth {tooth} is '{condition}', expected one of: {', '.join(CONDITIONS)}."
                )

    def drawing(self, palette=LIGHT):
        rows = ceil(self.teeth_count / TEETH_PER_ROW)
        row_height = ROW_HEIGHT + (PREVIOUS_ROW if self.previous is not None else 0)
        notes = [line for n in self.notes for line in wrapped(n, WIDTH - 2 * MARGIN, SMALL)]
        legend = 34 + LINE * len(notes)
        pen = Pen(WIDTH, rows * row_height + legend + MARGIN, palette)
        for row in range(rows):
            self._row(pen, row, pen.height - MARGIN - row * row_height, last=row == rows - 1)
        self._key(pen, legend - 14)
        for row, line in enumerate(notes):
            pen.text(MARGIN, legend - 36 - row * LINE, line, SMALL, palette.muted)
        return pen.drawing

    def _row(self, pen, row, top, last):
        """One stretch of the belt: numbers, teeth on their back, last time's letters."""
        first = row * TEETH_PER_ROW + 1
        teeth = range(first, min(first + TEETH_PER_ROW, self.teeth_count + 1))
        back = top - 14 - TOOTH_HEIGHT
        end = MARGIN + PITCH * len(teeth)
        pen.rect(MARGIN, back - BACK, end - MARGIN, BACK, fill=pen.palette.ink, stroke=None)
        for place, tooth in enumerate(teeth):
            self._tooth(pen, MARGIN + (place + 0.5) * PITCH, back, tooth)
        if last:
            pen.text(end + 4, back - BACK, "↩ 1", SMALL, pen.palette.muted)
        if self.previous is not None:
            self._previous_row(pen, teeth, back - BACK - LETTER - 18)

    def _tooth(self, pen, x, back, tooth):
        condition = self.conditions.get(tooth, "sound")
        draw_tooth(pen, condition, x, back)
        named = condition != "sound" or self._changed(tooth)
        if named or tooth == 1 or (tooth % NUMBER_EVERY == 0 and not self._crowded(tooth)):
            number_at = back + TOOTH_HEIGHT + 4
            pen.text(x, number_at, f"{tooth}", SMALL, anchor="middle", bold=named)
        letter_at = back - BACK - LETTER - 2
        pen.text(x, letter_at, LETTERS[condition], LETTER + 1, anchor="middle", bold=True)

    def _crowded(self, tooth):
        """Whether a neighbour's number needs the room: three figures are wider than a tooth."""
        return any(other in self.conditions for other in (tooth - 1, tooth + 1))

    def _changed(self, tooth):
        before = (self.previous or {}).get(tooth, "sound")
        return self.previous is not None and before != self.conditions.get(tooth, "sound")

    def _previous_row(self, pen, teeth, y):
        """Last time's letters under the belt, a dot where the tooth was sound."""
        for place, tooth in enumerate(teeth):
            x = MARGIN + (place + 0.5) * PITCH
            letter = LETTERS[self.previous.get(tooth, "sound")] or "·"
            pen.text(x, y, letter, LETTER, pen.palette.muted, anchor="middle")

    def _key(self, pen, y):
        left = MARGIN
        for condition in CONDITIONS:
            label = f"{CONDITION_WORDS[condition]} {LETTERS[condition]}".strip()
            pen.rect(left, y - 3, KEY_TOOTH, 3, fill=pen.palette.ink, stroke=None)
            draw_tooth(pen, condition, left + KEY_TOOTH / 2, y)
            pen.text(left + KEY_TOOTH + 3, y, label, SMALL)
            left += KEY_TOOTH + 3 + text_width(label, SMALL) + KEY_GAP

    @property
    def notes(self):
        """What the rows mean, printed under the picture."""
        if self.previous is None:
            return []
        return ["Grey letters: last time, · sound. Bold: not sound, or changed since."]

    def describe(self):
        """The map in words, with the numbers of the teeth."""
        found = [self._told(c) for c in CONDITIONS[1:] if c in self.conditions.values()]
        if not found:
            told = f"all {self.teeth_count} teeth sound"
        else:
            sound = self.teeth_count - sum(c != "sound" for c in self.conditions.values())
            told = f"of {self.teeth_count} teeth {listed([f'{sound} sound', *found])}"
        return f"{self.belt}: {told}.{self._told_changes()}"

    def _told(self, condition):
        teeth = sorted(t for t, found in self.conditions.items() if found == condition)
        word = "tooth" if len(teeth) == 1 else "teeth"
        return f"{len(teeth)} {CONDITION_WORDS[condition]} ({word} {listed(map(str, teeth))})"

    def _told_changes(self):
        if self.previous is None:
            return ""
        changes = [
            f"tooth {tooth} was {CONDITION_WORDS[self.previous.get(tooth, 'sound')]}, "
            f"is {CONDITION_WORDS[self.conditions.get(tooth, 'sound')]}"
            for tooth in sorted({*self.conditions, *self.previous})
            if self._changed(tooth)
        ]
        return f" Since last time: {'; '.join(changes)}." if changes else " Nothing changed since."


def draw_tooth(pen, condition, x, back):
    """One tooth standing on the belt's back, centred on ``x``.

    Sound is a whole outline; marked has a nick in its tip; worn is low and rounded off; cracked
    is split from root to tip; missing leaves a dotted outline.
    """
    ink, palette = pen.palette.ink, pen.palette
    if condition == "sound":
        pen.polygon(_outline(x, back, 1.0), fill=palette.faint, stroke=palette.muted)
    elif condition == "marked":
        pen.polygon(_notched(x, back), fill=palette.not_proven)
    elif condition == "worn":
        pen.polygon(_outline(x, back, 0.45), fill=palette.not_proven)
    elif condition == "cracked":
        pen.polygon(_outline(x, back, 1.0), fill=palette.outside)
        pen.polyline(_crack(x, back), stroke=palette.paper, width=2)
    else:
        pen.polygon(_outline(x, back, 1.0), stroke=ink, dash=(1.5, 2))


def _outline(x, back, share):
    """A tooth's trapezoid, ``share`` of its full height."""
    foot, tip, height = PITCH * 0.36, PITCH * 0.24, TOOTH_HEIGHT * share
    return [(x - foot, back), (x - tip, back + height), (x + tip, back + height), (x + foot, back)]


def _notched(x, back):
    """A tooth's trapezoid with a nick in its tip."""
    left_foot, left_tip, right_tip, right_foot = _outline(x, back, 1.0)
    tip = left_tip[1]
    nick = [(x - 2.5, tip), (x, back + 0.45 * TOOTH_HEIGHT), (x + 2.5, tip)]
    return [left_foot, left_tip, *nick, right_tip, right_foot]


def _crack(x, back):
    """A zigzag from the root to the tip."""
    steps = ((-1.5, 0), (1.5, 0.3), (-1.5, 0.55), (1.5, 0.8), (0, 1))
    return [(x + right, back + up * TOOTH_HEIGHT) for right, up in steps]
