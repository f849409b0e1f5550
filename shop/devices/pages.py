"""Which pages a person may open at a shared device; the lists stand in settings."""

from django.conf import settings
from django.utils.module_loading import import_string


def everybodys(shop, **address):
    """A page that is of no machine."""
    return True


def may_open(shop, match):
    """Whether a resolved address is among the pages for this shop's shared devices."""
    path = settings.SHARED_DEVICE_PAGES.get(match.view_name)
    return path is not None and import_string(path)(shop, **match.kwargs)
