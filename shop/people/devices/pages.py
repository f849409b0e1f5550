"""Which pages a person may open at a shared device; the lists stand in settings."""

from django.conf import settings
from django.utils.module_loading import import_string


def everybodys(shop, **address):
    """A page that is of no machine."""
    return True


def may_open(shop, match):
    """Whether a resolved address is among the pages for this shop's shared devices."""
    pages = settings.SHARED_DEVICE_PAGES
    asked = [path for path, names in pages.items() if match.view_name in names]
    return any(import_string(path)(shop, **match.kwargs) for path in asked)
