"""What was asked for, in terms; the words around a hit; and which known word was meant.

Pure computing, so that every database is asked the same and answers the same.
"""

import re
import unicodedata
from difflib import get_close_matches

LONGEST_QUERY = 200
MOST_TERMS = 8
AROUND = 60
# From how much alike two words are taken for the same one mistyped: two letters changed places in
# a word of five, or one was left out of four.
ALIKE = 0.75
TERM = re.compile(r'"([^"]+)"|([^\s"]+)')


def terms_of(text):
    """What to look for: the words of a text, and what stands in quotes as a whole.

    At most `MOST_TERMS` of the first `LONGEST_QUERY` characters, without those that no text has.
    """
    asked = unicodedata.normalize("NFC", text.replace("\0", "")[:LONGEST_QUERY])
    found = [" ".join((whole or word).split()) for whole, word in TERM.findall(asked)]
    return [term for term in dict.fromkeys(found) if term][:MOST_TERMS]


def pattern_of(term):
    """A regular expression for a term, the same to Python and to PostgreSQL."""
    return re.escape(term)


def around(texts, terms):
    """[(text, whether it is what was looked for)] of the first of `texts` that has a term, cut to
    `AROUND` characters before and after the first hit; none where none has."""
    pattern = re.compile("|".join(map(pattern_of, terms)), re.IGNORECASE)
    for text in (" ".join(str(text or "").split()) for text in texts):
        if hit := pattern.search(text):
            return _parted(text, pattern, hit)
    return []


def _parted(text, pattern, hit):
    first, last = max(hit.start() - AROUND, 0), min(hit.end() + AROUND, len(text))
    # Not within a word, where one begins or ends near.
    if first and (space := text.find(" ", first, hit.start())) >= 0:
        first = space + 1
    if last < len(text) and (space := text.rfind(" ", hit.end(), last)) > 0:
        last = space
    parts, at = [], first
    for one in pattern.finditer(text, first, last):
        parts += [(text[at : one.start()], False), (one.group(), True)]
        at = one.end()
    parts.append((text[at:last], False))
    if first:
        parts[0] = (f"… {parts[0][0]}", False)
    if last < len(text):
        parts[-1] = (f"{parts[-1][0]} …", False)
    return [part for part in parts if part[0]]


def meant(term, known):
    """The word among `known` that is most like a term; the term itself where one has it in it, and
    None where none is as much alike as `ALIKE` (difflib, Python's standard library)."""
    words = {word.casefold(): word for word in sorted(known, reverse=True)}
    asked = term.casefold()
    if any(asked in word for word in words):
        return term
    best = get_close_matches(asked, words, n=1, cutoff=ALIKE)
    return words[best[0]] if best else None
