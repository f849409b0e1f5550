"""Right-to-left writing and letters the typeface lacks.

The PDF library lays letters out from left to right as they come. Lines of Hebrew or Arabic are
put into the order they are seen here, Arabic letters in their joined forms. This is a plain
subset of the Unicode bidirectional algorithm (UAX 9): words are ordered by the direction of the
line, the letters of right-to-left words are reversed, brackets mirrored, numbers left alone. It
does for names, addresses and notes; embeddings and overrides are not followed.
"""

import re
import unicodedata
from functools import cache
from itertools import groupby

RTL = {"R", "AL"}
_MIRRORED = str.maketrans("()[]{}<>«»", ")(][}{><»«")
_NOT_REVERSED = re.compile(r"[0-9A-Za-z٠-٩۰-۹.,:/+-]*[0-9A-Za-z٠-٩۰-۹]")


def printable(text):
    """The text composed (NFC) and without characters that cannot be drawn: controls, direction
    marks, lone surrogates. Line breaks stay."""
    text = str(text).replace("\r\n", "\n").replace("\r", "\n").replace("\t", " ")
    kept = (c for c in text if c == "\n" or unicodedata.category(c) not in {"Cc", "Cf", "Cs", "Cn"})
    return unicodedata.normalize("NFC", "".join(kept))


def is_rtl(text):
    """Whether the first letter with a direction runs right to left."""
    for character in text:
        direction = unicodedata.bidirectional(character)
        if direction in RTL:
            return True
        if direction == "L":
            return False
    return False


def has_rtl(text):
    """Whether any letter runs right to left."""
    return any(unicodedata.bidirectional(character) in RTL for character in text)


def visual_line(text):
    """One line of text in the order its letters are seen from left to right."""
    if not has_rtl(text):
        return text
    return " ".join(visual_words(text.split(" "), is_rtl(text)))


def visual_words(words, base_rtl):
    """The words of one line in the order they are seen, each with its letters in that order."""
    runs = [
        (rtl, [visual_word(word) for word in run])
        for rtl, run in groupby(words, key=lambda word: _runs_rtl(word, base_rtl))
    ]
    ordered = runs[::-1] if base_rtl else runs
    return [word for rtl, run in ordered for word in (run[::-1] if rtl else run)]


def _runs_rtl(word, base_rtl):
    """A word without letters goes with the direction of the line."""
    if has_rtl(word):
        return True
    return base_rtl and not any(unicodedata.bidirectional(c) == "L" for c in word)


def visual_word(word):
    if not has_rtl(word):
        return word
    mirrored = _joined(word).translate(_MIRRORED)[::-1]
    return _NOT_REVERSED.sub(lambda found: found.group()[::-1], mirrored)


@cache
def _arabic_forms():
    """Letter to its form by position, from the decompositions of the presentation forms."""
    forms = {}
    for code in range(0xFE80, 0xFEFD):
        position, *letters = unicodedata.decomposition(chr(code)).split() or ["", ""]
        letter = "".join(chr(int(point, 16)) for point in letters)
        forms.setdefault(letter, {})[position.strip("<>")] = chr(code)
    return forms


def _joined(word):
    """Arabic letters in their joined forms; everything else unchanged."""
    forms = _arabic_forms()
    letters = _with_ligatures(word, forms)
    joins_on = ["initial" in forms.get(letter, {}) for letter in letters]
    takes = ["final" in forms.get(letter, {}) for letter in letters]
    shaped = []
    for place, letter in enumerate(letters):
        before = place > 0 and joins_on[place - 1] and takes[place]
        after = place + 1 < len(letters) and joins_on[place] and takes[place + 1]
        position = {
            (False, False): "isolated",
            (False, True): "initial",
            (True, False): "final",
            (True, True): "medial",
        }[before, after]
        shaped.append(forms.get(letter, {}).get(position, letter))
    return "".join(shaped)


def _with_ligatures(word, forms):
    """The word's letters, lam followed by an alef taken as one."""
    letters = []
    for character in word:
        if letters and letters[-1] == "\u0644" and letters[-1] + character in forms:
            letters[-1] += character
        else:
            letters.append(character)
    return letters
