"""What every page is given."""

from .mailing import mail_is_printed


def for_every_page(request):
    """The unit in which the person reads and types lengths, and the shared device they are at."""
    user = getattr(request, "user", None)
    signed_in = user is not None and user.is_authenticated
    return {
        "mail_is_printed": mail_is_printed(),
        "unit": user.length_unit if signed_in else "mm",
        "shared_device": getattr(request, "shared_device", None) if signed_in else None,
    }
