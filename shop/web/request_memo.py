"""What is asked for again and again while nothing changes, kept for as long as that lasts."""

from contextlib import contextmanager
from contextvars import ContextVar

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
