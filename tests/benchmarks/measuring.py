"""Seconds of processor time, and the floor a page is held against."""

import time

from django.db import connection
from django.template import Context, Engine
from django.test import Client
from django.test.utils import CaptureQueriesContext

ROUNDS = 5
# What one row of a list comes to in a page that has nothing else.
PLAIN = Engine().from_string(
    "<!doctype html><title>floor</title><table>{% for row in rows %}<tr>{% for cell in row %}"
    "<td>{{ cell }}</td>{% endfor %}</tr>{% endfor %}</table>"
)
MOST_ROWS = 50


# What takes longer than this is not bent by its first go, and is not tried again and again.
LONG_S = 1.5


def seconds(work, rounds=ROUNDS):
    """The least processor time of several goes, after one to warm up."""
    first = once(work)
    if first > LONG_S:
        return first
    return min(once(work) for _ in range(rounds))


def once(work):
    """The processor time of one go."""
    begun = time.process_time()
    work()
    return time.process_time() - begun


class PageOf:
    """A page as one person gets it, and the least work its data could take.

    The floor runs the page's own statements past Django, fetches all their rows, and renders the
    rows of the longest answer, a page's worth, with a plain template.
    """

    def __init__(self, user, address):
        self.client, self.address = Client(), address
        self.client.force_login(user)
        with CaptureQueriesContext(connection) as captured:
            assert self.get().status_code == 200, address
        self.statements = [one["sql"] for one in captured if one["sql"].startswith("SELECT")]
        self.queries = len(captured)

    def get(self):
        return self.client.get(self.address)

    def floor(self):
        """The floor's own processor seconds are what this takes."""
        answers = [self._rows(sql) for sql in self.statements]
        longest = max(answers, key=len, default=[])
        return PLAIN.render(Context({"rows": longest[:MOST_ROWS]}))

    def _rows(self, sql):
        return connection.connection.execute(sql).fetchall()
