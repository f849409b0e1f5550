"""What a page that only reads asks for again and again, kept for as long as the page is made."""

from contextvars import ContextVar

READING = ("GET", "HEAD")
_kept = ContextVar("asked_once", default=None)


class AskOnce:
    """Middleware: keep what `once` is asked for while a request that only reads is answered."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        if request.method not in READING:
            return self.get_response(request)
        token = _kept.set({})
        try:
            return self.get_response(request)
        finally:
            _kept.reset(token)


def once(key, ask):
    """What `ask()` comes to; asked anew each time where no page is made that only reads."""
    kept = _kept.get()
    if kept is None:
        return ask()
    if key not in kept:
        kept[key] = ask()
    return kept[key]
