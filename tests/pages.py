"""Pages opened and forms sent by one person, for tests that do little else."""

import re

from django.urls import reverse


def opened(client, person, record):
    """The answer of a record's own page."""
    client.force_login(person)
    return client.get(record.get_absolute_url())


def text_of(client, person, record):
    """What a record's own page says."""
    return opened(client, person, record).content.decode()


def history_of(client, person, machine, **query):
    """The answer of a machine's history, filtered by `query`."""
    client.force_login(person)
    return client.get(reverse("machines:history", args=[machine.pk]), query)


def posted(client, person, name, pk, data=None):
    """The answer to a form of the shop app, sent to the page called `name` of the record `pk`."""
    client.force_login(person)
    return client.post(reverse(f"shop:{name}", args=[pk]), data or {})


def tight(html):
    """Markup without the white space that only lays out its source."""
    return re.sub(r"\s*(<[^>]*>)\s*", r"\1", " ".join(html.split()))
