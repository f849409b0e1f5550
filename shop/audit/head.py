"""Where the chain ends: what is kept elsewhere, so that a chain made anew or cut off shows."""

import re
from dataclasses import dataclass

from .models import ChainHead

START = "0" * 64
SHORT = 16
DIGITS = re.compile(f"[0-9a-f]{{{SHORT},64}}")


@dataclass(frozen=True)
class Head:
    """The end of the chain: how many links it has, and the SHA-256 of the last, or what begins it
    (16 hexadecimal digits at least)."""

    seq: int
    sha256: str

    def __str__(self):
        return f"{self.seq}:{self.sha256}"

    @property
    def short(self):
        """As it is printed on documents."""
        return f"{self.seq}:{self.sha256[:SHORT]}"

    @classmethod
    def read(cls, text):
        """A head as it was kept; raises ValueError for what is none."""
        seq, _, sha256 = text.strip().lower().partition(":")
        if not seq.isdecimal() or not DIGITS.fullmatch(sha256):
            raise ValueError(f"{text!r} is no head; expected such as 1234:0123456789abcdef.")
        return cls(int(seq), sha256)


def head():
    """Where the chain ends now; one query."""
    found = ChainHead.objects.filter(pk=1).first()
    return Head(found.seq, found.sha256) if found else Head(0, START)
