"""System checks: the site does not start with settings that contradict each other."""

from django.conf import settings
from django.core.checks import Error, register
from django.core.exceptions import ImproperlyConfigured

TAG = "sweepbook"
NO_PROXY_NAMED = Error(
    "SWEEPBOOK_HTTPS=1 is set, but not how many proxies stand in front of the site.",
    hint=(
        "Set SWEEPBOOK_PROXIES=1 where one proxy ends TLS: else every caller seems to come from "
        "it, and one stranger's wrong passwords lock everybody out. Set SWEEPBOOK_PROXIES=0 where "
        "the server of the site speaks TLS itself."
    ),
    id="shop.E010",
)


@register(TAG)
def proxies_are_named(app_configs, **_given):
    """Over HTTPS it is said who ends TLS; `manage.py begin --https` does so itself."""
    is_said = settings.PROXIES_ARE_SAID or settings.OWN_CERTIFICATE
    return [] if is_said or not settings.HTTPS else [NO_PROXY_NAMED]


def refuse_to_start():
    """For a server, which runs no checks of itself: raises ImproperlyConfigured."""
    for error in proxies_are_named(None):
        raise ImproperlyConfigured(f"{error.msg} {error.hint}")
