"""The kinds of machine that somebody can start from: ours by file, then their firm's own."""

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from .models import FirmKind
from .shape import MachineKind, read_kind

FILES = Path(__file__).parent / "files"


@dataclass(frozen=True)
class Choice:
    """A kind under its name in an address; `own` is the firm's record of it, if it is one."""

    slug: str
    kind: MachineKind
    own: FirmKind | None = None

    @property
    def name(self):
        return self.kind.name


@cache
def our_kinds():
    """{slug: `MachineKind`} of the files; a file that says something wrong raises ValueError."""
    return {path.stem: _read(path) for path in sorted(FILES.glob("*.toml"))}


def _read(path):
    try:
        return read_kind(tomllib.loads(path.read_text(encoding="utf-8")))
    except ValueError as error:
        raise ValueError(f"{path.name}: {error}") from error


def kinds_for(user):
    """The `Choice`s a person has: our kinds, then those the person's firm keeps; one query."""
    ours = [Choice(slug, kind) for slug, kind in our_kinds().items()]
    own = [Choice(one.slug, one.kind, one) for one in FirmKind.objects.visible_to(user)]
    return [*ours, *own]


def kind_named(user, slug):
    """The `Choice` of a slug; None for one that is not there, or is another firm's."""
    return next((one for one in kinds_for(user) if one.slug == slug), None)
