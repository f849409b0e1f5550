"""Seconds of processor time, and the floor a page is held against."""

import time
from collections import Counter

from django.core.cache import caches
from django.core.handlers.wsgi import WSGIHandler
from django.db import connection
from django.test import Client, RequestFactory
from django.test.utils import CaptureQueriesContext

from shop.people.models import Shop
from shop.snapshots.models import RefreshState

ROUNDS = 5


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
    page's own template with what was gathered for it. The first opening after a change, on which
    what stands is worked out anew, is measured by itself.
    """

    def __init__(self, user, address):
        client = Client()
        client.force_login(user)
        assert client.get(address).status_code == 200, address
        with CaptureQueriesContext(connection) as captured:
            answer = client.get(address)
        self.queries = len(captured)
        cookies = "; ".join(f"{name}={one.value}" for name, one in client.cookies.items())
        asked = RequestFactory(HTTP_COOKIE=cookies).get(address)
        self.site, self.environ = WSGIHandler(), asked.environ
        self.shop = Shop.objects.visible_to(user).first()
        self.template, self.context = answer.templates[0], answer.context[0]
        with CaptureQueriesContext(connection) as again:
            self.render()
        # What the template itself asks for is asked again in rendering.
        left = Counter(map(_sql, captured)) - Counter(map(_sql, again))
        self.statements = [sql for sql in left.elements() if sql.startswith("SELECT")]

    def get(self):
        """The page as the site's own handler makes it; a test client would do more."""
        status = []
        answer = self.site(self.environ.copy(), lambda line, _headers: status.append(line))
        page = b"".join(answer)
        answer.close()
        assert status == ["200 OK"], status
        return page

    def after_a_change(self):
        """Processor seconds of the first opening after something changed at one of the shops."""
        caches["standing"].clear()
        RefreshState.objects.filter(shop=self.shop).update(generation=-1)
        return once(self.get)

    def render(self):
        return self.template.render(self.context)

    def floor(self):
        """The floor's own processor seconds are what this takes."""
        for sql in self.statements:
            connection.connection.execute(sql).fetchall()
        return self.render()


def _sql(query):
    return query["sql"]
