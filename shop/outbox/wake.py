"""Tells the sender of this process that there is something to send."""

import threading

something_to_send = threading.Event()


def wake_the_sender():
    something_to_send.set()
