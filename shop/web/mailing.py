"""Whether mail leaves this site at all."""

from django.conf import settings

PRINTED = ("console", "dummy", "filebased")


def mail_is_printed():
    """Whether no mail server is set, so that mail is only printed where the site runs."""
    return settings.EMAIL_BACKEND.split(".")[-2] in PRINTED


def on_its_way(address):
    """What is said of a mail that was handed over; the truth where none leaves."""
    if mail_is_printed():
        return (
            f"This site has no mail server: the mail to {address} was only printed where the site "
            "runs."
        )
    return f"The mail to {address} is on its way."
