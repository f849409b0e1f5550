"""The sender in the server's own process: a thread beside those that answer."""

import logging
import threading

from django.conf import settings
from django.db import connections

from .sending import send_due
from .wake import something_to_send

# What another process put into the outbox is found this much later at the latest.
LOOKS_EVERY_S = 10
logger = logging.getLogger("sweepbook.mail")


def start_sender():
    """Begin to send, unless `manage.py send_mail` does it for the site."""
    if settings.SENDS_MAIL_ITSELF:
        threading.Thread(target=_go_on, name="mail", daemon=True).start()


def _go_on():
    while True:
        something_to_send.clear()
        try:
            send_due()
        except Exception:
            # Whatever it was, mail that waits must go once it is over.
            logger.exception("the sender stumbled and goes on")
        finally:
            connections.close_all()
        something_to_send.wait(LOOKS_EVERY_S)
