"""Who is at work: the person of a request, else the command or program that runs."""

import contextlib
import contextvars
import sys
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Actor:
    """who: the person's primary key, None for a program; via: the program's name, empty for a
    person; request_id: what the changes of one request share, empty outside of one."""

    who: int | None = None
    via: str = ""
    request_id: str = ""


_at_work = contextvars.ContextVar("at_work", default=None)


def at_work():
    """The `Actor` at work now."""
    return _at_work.get() or Actor(via=program())


@contextlib.contextmanager
def acting(*, who=None, via="", request_id=""):
    """Name who is at work inside a `with`."""
    token = _at_work.set(Actor(who, via, request_id))
    try:
        yield
    finally:
        _at_work.reset(token)


def program():
    """What runs outside of requests, such as "manage.py remind"."""
    name, command = Path(sys.argv[0] or "python").name, sys.argv[1:2]
    return " ".join([name, *(command if name == "manage.py" else [])])[:80]
