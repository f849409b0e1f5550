"""No page leads to one that is not there, or not for whoever it was shown to."""

import re
from collections import Counter
from html.parser import HTMLParser
from typing import NamedTuple
from urllib.parse import urldefrag, urljoin, urlsplit

import pytest
from django.urls import Resolver404, resolve

from .rules import CONTRACTOR, OPERATOR, OWNER

ENDS_THE_SESSION = {"shop:sign_out", "shop:device_set_up"}
# Of a page that is made from its query, such as a list sorted or a month of a calendar.
MOST_QUERIES = 2
# Of pages of one kind, such as the changes of every record.
MOST_OF_A_KIND = 4
NOT_THERE = {403, 404, 410, 500}


class Links(HTMLParser):
    """The addresses that a page links to, in their order."""

    def __init__(self, page):
        super().__init__()
        self.found = []
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        address = given.get({"a": "href", "img": "src", "source": "srcset"}.get(tag, ""))
        if address:
            self.found.append(address)


@pytest.mark.parametrize("role", [OWNER, OPERATOR, CONTRACTOR])
def test_every_link_of_every_page_leads_somewhere(client, world, role):
    client.force_login(world.people[role])
    found = crawl(client)
    assert found.broken == []
    assert len(found.seen) > 40


class Crawled(NamedTuple):
    """(page, address, status) of each link that leads nowhere; the addresses looked at; those of
    them that are pages, in the order in which they were found."""

    broken: list
    seen: set
    pages: list


def crawl(client, begin="/"):
    """Follow the links of the person's pages, a few of each kind."""
    waiting, seen = [("", begin)], {begin}
    kinds, broken, pages = Counter(), [], []
    while waiting:
        page, address = waiting.pop(0)
        response = client.get(address)
        if response.status_code in NOT_THERE:
            broken.append((page, address, response.status_code))
        elif is_page(response):
            pages.append(address)
        for link in links_of(response, address):
            kind = kind_of(link)
            if link not in seen and kind and kinds[kind] < most_of(kind):
                kinds[kind] += 1
                seen.add(link)
                waiting.append((address, link))
    return Crawled(broken, seen, pages)


def is_page(response):
    return "html" in response.get("Content-Type", "") and not response.streaming


def links_of(response, address):
    """The site's own addresses that a page links to; none of what is no page."""
    if not is_page(response):
        return
    for link in Links(response.content.decode()).found:
        whole = urldefrag(urljoin(address, link))[0]
        parts = urlsplit(whole)
        if not parts.scheme and not parts.netloc and parts.path.startswith("/"):
            yield whole


def kind_of(address):
    """(the address's name, whether it has a query), None for what is no page of the site."""
    path = urlsplit(address).path
    if re.match(r"/(static|admin)/", path):
        return None
    try:
        name = resolve(path).view_name
    except Resolver404:
        return "no such address", False
    return None if name in ENDS_THE_SESSION else (name, "?" in address)


def most_of(kind):
    return MOST_QUERIES if kind[1] else MOST_OF_A_KIND
