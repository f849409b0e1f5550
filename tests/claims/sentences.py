"""The sentences of the product that claim a chance or an interval, read from its source.

`CLAIMS` lists them, `NO_CLAIM` what only sounds like one; a sentence in neither fails a test.
"""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[2]
APPS = ("alignment", "machines", "shop")
# What a sentence with a chance or an interval in it contains.
SOUNDS_LIKE = re.compile(
    r"(\d|\{\}) ?%|\bchance\b|likely|confidence|intervals?\b|wears? out|(more|less) often"
    r"|\bbump\b|not proven|\bprobab|pays\b|for sure",
    re.IGNORECASE,
)
WORDS = re.compile(r"[a-z]{2,}[^a-z]+[a-z]{2,}|\d+ % [a-z]", re.IGNORECASE)
TAG = re.compile(r"{%.*?%}|{#.*?#}|{{.*?}}|<[^>]*>", re.DOTALL)


class Claim(NamedTuple):
    """``phrases``: what its sentences contain, each of them at least one."""

    key: str
    phrases: tuple[str, ...]


class Sentence(NamedTuple):
    """A text of the product and the file it stands in."""

    where: str
    text: str


CLAIMS = (
    Claim(
        "verdict",
        (
            "Uncertainties are expanded",
            "95 % one-sided",
            ", not proven",
            "Not proven:",
            "nothing is proven",
            "Nothing is proven yet",
        ),
    ),
    Claim("likely within", ("likely within its limits",)),
    Claim(
        "where the axis lies",
        ("it stands there with 95 % confidence", "where it stands with 95 % confidence"),
    ),
    Claim("moved", ("those of two visits are added in squares", "Whether that is chance")),
    Claim("closing", ("beyond what chance explains in 95 of 100 cases", "The links do not close")),
    Claim("rate", ("95 % interval", "Between visits it drifts by", "{}\n95 %: {}")),
    Claim("step", ("{} (95 %: {})", "(interval not known)")),
    Claim(
        "what moved",
        ("likely to have moved", "Likely to have moved", "likelier than 5 % to be out",
         "likely out of limits", "Likely out of limits"),
    ),
    Claim(
        "chance of being outside",
        (
            "chance that it is out",
            "Chance outside",
            "chance of being outside is past",
            "chance of being outside may be past",
            "chance of being outside stays",
            "Chance out of tolerance",
            "under 1 %",
            "over 99 %",
            "The chance that any item of a machine is outside",
            "past the chance at which to check again",
            "risk of drift reaches",
            "chance of having drifted outside",
        ),
    ),
    Claim("date", ("The chance of being outside passes", "95 %: {} to {}")),
    Claim("forecast", ("50 % from", "95 % from", "50 % to", "95 % to", "Shaded: forecast",
                       "with 95 % between")),
    Claim("more than wear", ("is the likely reason", "look for an unlogged bump")),
    Claim(
        "borrowed",
        ("of the rate comes from", "by more than chance", "The rate is borrowed from"),
    ),
    Claim("use", ("with 90 % confidence",)),
    Claim(
        "part life",
        ("Mean life {} h", "wears out", "a Weibull life fitted", "Replace at {} h",
         "No replacement age yet", "chance {} %, {} % wanted",
         "Where every fifth fails in its first days"),
    ),
    Claim(
        "incidents",
        ("Now one in {} h", "One failure in {} h", "No failure in {} h", "more often", "less often",
         "machines in 100 show this much", "Intervals take incidents to come singly",
         "Where one brings on others"),
    ),
)  # fmt: skip

NO_CLAIM = {
    "expected": "what a box or a function expects",
    "interval in ": "how long between two times of a plan",
    "interval above zero": "of a plan",
    "interval of more than": "of a plan",
    "interval has no time": "of a plan",
    "interval is left out": "a move between two visits",
    "holds an incident": "a move between two visits",
    "One undisturbed interval": "says that no interval is given",
    "says nothing about the rate": "a move between two visits",
    "the interval comes from": "says what the interval rests on",
    "no interval is given": "says that none is given",
    "not proven": "the word of a verdict",
    "Sales tax": "a rate of tax",
    "VAT": "a rate of tax",
    "discount": "of a price",
    "The confidence": "a name in an error",
    "crash is least likely": "common practice, told as such",
    "likely to do damage": "the zone of ISO 20816",
    "most likely you": "a letter",
    "A risk lies between": "what a box expects",
    "The tolerance must be": "what a function expects",
    "under 1 %": "a share",
    "Accounts for": "a share of what was seen",
    "A chance that a station moved lies": "what a function expects",
    "A probability lies": "what a function expects",
    "of the basic rating life": "ISO 281's definition of a rating life",
    " reaches {} %": "a plan's own setting, in words",
    "A mark-up of": "of a price",
    "Tax {} % on": "a rate of tax",
    "of what reads off": "a share of what was seen",
    "be off by up to {} points": "a caution",
    "five failures or fewer, it holds": "a caution",
    "place: 95 % holds in 93 of 100": "a caution",
    "makes intervals wider than they need be": "a caution",
    "Typed 30 % too small": "a caution",
    "Parts with {} % on top": "of a price",
    "makes the chance somewhat large": "a caution",
    "has its chance from the forecast": "says where a chance comes from",
    "The chance at which to check again": "a shop's own setting",
    "Few failures give wide intervals": "a caution",
    "nothing done yet": "a share of what is planned",
    "Less likely": "a heading of an order",
    "None fits a defect": "a tolerance",
}


@cache
def sentences() -> tuple[Sentence, ...]:
    """Every text of the product that could be read by a person."""
    found = []
    for app in APPS:
        for path in sorted((ROOT / app).rglob("*.py")):
            if "migrations" not in path.parts:
                found += [Sentence(_name(path), text) for text in _of_code(path)]
    for path in sorted((ROOT / "templates").rglob("*.*")):
        text = " ".join(TAG.sub("{}", path.read_text()).split())
        found += [
            Sentence(_name(path), part) for part in re.split(r"(?<=[.:?]) |(?:{} ?){3,}", text)
        ]
    return tuple(found)


def claiming() -> list[Sentence]:
    """The sentences that sound like a chance or an interval; a word or a bare figure is none."""
    return [one for one in sentences() if WORDS.search(one.text) and SOUNDS_LIKE.search(one.text)]


def _name(path):
    return str(path.relative_to(ROOT))


def _of_code(path):
    """Texts in a module, what is put into them as {}; no docstrings, no text of an error raised
    at a programmer."""
    tree, inside = ast.parse(path.read_text()), set()
    for node in ast.walk(tree):
        body = getattr(node, "body", None)
        if isinstance(body, list) and body and isinstance(body[0], ast.Expr):
            inside.add(id(body[0].value))
        if isinstance(node, ast.JoinedStr):
            inside.update(map(id, node.values))
            yield "".join(
                part.value if isinstance(part, ast.Constant) else "{}" for part in node.values
            )
    for node in ast.walk(tree):
        if (
            isinstance(node, ast.Constant)
            and isinstance(node.value, str)
            and id(node) not in inside
        ):
            yield node.value
