"""What every page is given."""

from .mailing import mail_is_printed
from .request_memo import stale
from .wording import time_text


def for_every_page(request):
    """The unit in which the person reads and types lengths, and the shared device they are at."""
    user = getattr(request, "user", None)
    signed_in = user is not None and user.is_authenticated
    return {
        "mail_is_printed": mail_is_printed(),
        # Asked for by the template, once the page's parts are made.
        "stale_words": _stale_words,
        "unit": user.length_unit if signed_in else "mm",
        "shared_device": getattr(request, "shared_device", None) if signed_in else None,
    }


def _stale_words():
    """As of when the page is, where it could not be brought up to date; "" where it was."""
    found = stale()
    if not found:
        return ""
    if any(one.moment is None for one in found):
        return "Part of this page could not be worked out yet. Load it again in a while."
    oldest = min(found, key=lambda one: one.moment)
    when = time_text(oldest.moment, oldest.zone)
    return f"As of {when}: what changed since could not be worked in yet."
