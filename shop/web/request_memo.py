"""What is asked for again and again while nothing changes, kept for as long as that lasts."""

from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import datetime, tzinfo

READING = ("GET", "HEAD")
_kept = ContextVar("asked_once", default=None)


class RequestMemo:
    """Middleware: keep what `once` is asked for while a request that only reads is answered."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        if request.method not in READING:
            return self.get_response(request)
        with asking_once():
            return self.get_response(request)


@contextmanager
def asking_once():
    """Keep what `once` is asked for until the block ends; nothing it tells of may change in it."""
    kept = _kept.get()
    token = _kept.set({} if kept is None else kept)
    try:
        yield
    finally:
        _kept.reset(token)


def request_memo(key, ask):
    """What `ask()` comes to; outside `asking_once` and a page that only reads, asked each time."""
    kept = _kept.get()
    if kept is None:
        return ask()
    if key not in kept:
        kept[key] = ask()
    return kept[key]


def is_reading():
    """Whether a page that only reads is being made."""
    return _kept.get() is not None


@dataclass(frozen=True)
class AsOf:
    """Since when something that a page shows was not brought up to date; None for never."""

    moment: datetime | None
    zone: tzinfo


def note_stale(as_of):
    """Let the page say that part of it is as of an earlier moment (`AsOf`)."""
    _all_stale().append(as_of)


def stale():
    """Every `AsOf` that was noted of this page until now."""
    return tuple(_all_stale())


def _all_stale():
    return request_memo("stale", list)
