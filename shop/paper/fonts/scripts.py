"""Right-to-left writing and letters that cannot be drawn.

The PDF library lays letters out from left to right as they come. Lines of Hebrew or Arabic are
put into the order they are seen here, by the Unicode bidirectional algorithm (UAX 9), Arabic
letters in their joined forms.
"""

import unicodedata

from arabic_reshaper import ArabicReshaper
from bidi.algorithm import get_display

RTL = {"R", "AL"}
# Vowel marks are part of a name: they stay.
_JOINED = ArabicReshaper({"delete_harakat": False})


# No letter before this one runs right to left: the first of the Hebrew block.
FIRST_RTL = "\u0590"


def printable(text):
    """The text composed (NFC) and without characters that cannot be drawn: controls, direction
    marks, lone surrogates. Line breaks stay."""
    text = str(text)
    if not text.replace("\n", "").isprintable():
        text = text.replace("\r\n", "\n").replace("\r", "\n").replace("\t", " ")
        text = "".join(c for c in text if c == "\n" or not _cannot_be_drawn(c))
    return unicodedata.normalize("NFC", text)


def _cannot_be_drawn(character):
    return unicodedata.category(character) in {"Cc", "Cf", "Cs", "Cn"}


def is_rtl(text):
    """Whether the first letter with a direction runs right to left."""
    if max(text, default="") < FIRST_RTL:
        return False
    for character in text:
        direction = unicodedata.bidirectional(character)
        if direction in RTL:
            return True
        if direction == "L":
            return False
    return False


def has_rtl(text):
    """Whether any letter runs right to left."""
    if max(text, default="") < FIRST_RTL:
        return False
    return any(unicodedata.bidirectional(character) in RTL for character in text)


def visual_line(text):
    """One line of text in the order its letters are seen from left to right."""
    if not has_rtl(text):
        return text
    return _seen(text, is_rtl(text))


def visual_words(words, base_rtl):
    """The words of one line in the order they are seen, each with its letters in that order."""
    return _seen(" ".join(words), base_rtl).split(" ")


def _seen(line, base_rtl):
    return get_display(_JOINED.reshape(line), base_dir="R" if base_rtl else "L")
