"""The post as a test sees it: what waits in the outbox is sent, and lies in the letter box."""

from django.core import mail

from shop.outbox.sending import send_due


def posted():
    """Every mail that went out, the oldest first."""
    send_due()
    return mail.outbox
