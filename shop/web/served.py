"""What links and papers begin with: the address that is set, else the one a page was asked at."""

from contextlib import contextmanager
from contextvars import ContextVar

from django.conf import settings
from django.core.exceptions import DisallowedHost

_served = ContextVar("served_address", default="")


def site_address():
    """The site's address without a slash at its end."""
    return _served.get() or settings.SITE_ADDRESS.rstrip("/")


def absolute(path):
    """The whole address of a page, as it stands on paper and in mail."""
    return site_address() + path


@contextmanager
def served_at(address):
    """While this lasts, the site is reached at `address` unless another is set."""
    token = _served.set("" if settings.ADDRESS_IS_SET else address.rstrip("/"))
    try:
        yield
    finally:
        _served.reset(token)


class ServedAddress:
    """Middleware: papers and mail made for a request carry no address but the one it came to."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        # Where any host is let in, what a caller says of it goes into no mail.
        if "*" in settings.ALLOWED_HOSTS:
            return self.get_response(request)
        try:
            host = request.get_host()
        except DisallowedHost:
            return self.get_response(request)  # refused further on
        with served_at(f"{request.scheme}://{host}"):
            return self.get_response(request)
