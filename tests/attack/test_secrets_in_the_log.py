"""Addresses that let somebody in never stand in the log, whatever their secret looks like."""

import io
import json
import logging

import pytest
from django.urls import URLPattern, get_resolver, reverse

from shop.web.logs import PLAIN_WORDS, JsonLines

pytestmark = pytest.mark.django_db
# Short, of letters alone, and nothing that the eye would take for a secret.
SECRET = "carrots"


def routes_with_words(found=None, namespace=""):
    """(name, names of the words in its address) of every page of the site."""
    for one in found or get_resolver().url_patterns:
        if isinstance(one, URLPattern):
            words = {
                name: kind
                for name, kind in one.pattern.converters.items()
                if type(kind).__name__ != "IntConverter"
            }
            if words:
                yield f"{namespace}:{one.name}", dict(one.pattern.converters)
        elif one.namespace != "admin":
            yield from routes_with_words(one.url_patterns, one.namespace or namespace)


WITH_WORDS = dict(routes_with_words())


@pytest.fixture
def log():
    stream = io.StringIO()
    handler = logging.StreamHandler(stream)
    handler.setFormatter(JsonLines())
    root = logging.getLogger()
    level = root.level
    root.addHandler(handler)
    root.setLevel(logging.INFO)
    yield stream.getvalue
    root.removeHandler(handler)
    root.setLevel(level)


def test_every_page_with_a_word_in_its_address_was_thought_of():
    """A new one is masked until it is listed among the plain ones."""
    assert set(WITH_WORDS) >= PLAIN_WORDS
    assert set(WITH_WORDS) - PLAIN_WORDS == {
        "shop:begin_with",
        "shop:reset",
        "shop:invitation",
        "shop:welcome",
        "shop:device_set_up",
        "shop:feed",
    }


@pytest.mark.parametrize("name", sorted(set(WITH_WORDS) - PLAIN_WORDS))
def test_a_secret_in_an_address_is_masked_by_its_route(client, log, name):
    words = {
        word: 1 if type(kind).__name__ == "IntConverter" else SECRET
        for word, kind in WITH_WORDS[name].items()
    }
    client.get(reverse(name, kwargs=words))
    client.post(reverse(name, kwargs=words))
    lines = [json.loads(line) for line in log().splitlines()]
    assert [line for line in lines if line["from"] == "sweepbook.requests"]
    assert SECRET not in log()


def test_what_is_no_secret_stays_readable(client, firm, log):
    client.get(reverse("shop:check", args=["ABCD-1234"]))
    assert "/check/ABCD-1234/" in log()
