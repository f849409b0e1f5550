"""Every address of the site, from its own table of addresses."""

from django.urls import URLResolver, get_resolver

# The admin keeps its own rules; `test_every_address.py` tries that it is closed as a whole.
LEFT_TO_ITSELF = {"admin"}


def names(patterns=None, namespace=""):
    """The name of each address, with its namespace; "?" for one that has none."""
    for one in get_resolver().url_patterns if patterns is None else patterns:
        if not isinstance(one, URLResolver):
            yield namespace + (one.name or f"? {one.pattern}")
        elif one.namespace not in LEFT_TO_ITSELF:
            inner = f"{one.namespace}:" if one.namespace else ""
            yield from names(one.url_patterns, namespace + inner)
