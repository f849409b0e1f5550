"""What is searched, declared kind by kind, and how it is found.

A kind is a queryset of what a person may see and the fields that are looked in. Every term has to
stand in one of them; the newest come first. `SEARCHED` in settings lists the kinds in the order in
which they are shown.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from functools import reduce
from operator import or_

from django.conf import settings
from django.core.paginator import Paginator
from django.db.models import Q
from django.utils import timezone

from shop.hooks import hooks
from shop.web.listing import PAGE_SIZE, with_key

from .words import around, meant, pattern_of, terms_of

SHOWN_OF_A_KIND = 5
# So many names are read to find the one that was meant.
MOST_NAMES = 5000
WORD = re.compile(r"[\w-]{3,}")


@dataclass(frozen=True)
class Searched:
    """One kind of record that is searched.

    records: (user) -> what the person may see, with what its line needs. fields: the lookups that
    are looked in, to single values alone. title: (record) -> what it is called. day: the attribute
    of its day or moment, "" without. names: those of the fields by whose words a mistyped one is
    mended. shop: the attribute of its shop, "" without.
    """

    key: str
    many: str
    records: Callable
    fields: tuple
    title: Callable = str
    url: Callable = lambda record: record.get_absolute_url()
    day: str = ""
    names: tuple = ()
    shop: str = "shop"

    def found(self, user, terms):
        """The records that have every term, the newest first."""
        records = self.records(user)
        for term in terms:
            matches = (Q(**{f"{field}__iregex": pattern_of(term)}) for field in self.fields)
            records = records.filter(reduce(or_, matches))
        order = f"-{self.day.replace('.', '__')}" if self.day else "-pk"
        return with_key(records.order_by(order))

    def hit(self, record, terms):
        title = self.title(record)
        texts = (str(_value(record, field.replace("__", ".")) or "") for field in self.fields)
        place = _value(record, self.shop) if self.shop else None
        return Hit(
            title=title,
            url=self.url(record),
            day=_day(_value(record, self.day), place) if self.day else None,
            around=around([text for text in texts if text not in title], terms),
            shop=place,
        )


@dataclass(frozen=True)
class Hit:
    """One record found: its name, address, day, the words around the hit, and its shop."""

    title: str
    url: str
    day: date | None
    around: list
    shop: object


def _value(record, path):
    for name in path.split("."):
        record = getattr(record, name, None)
    return record


def _day(moment, place):
    if isinstance(moment, datetime):
        return timezone.localdate(moment, timezone=place.zone if place else None)
    return moment


@dataclass(frozen=True)
class Group:
    """The first hits of one kind, and whether there are more."""

    searched: Searched
    hits: list
    more: bool


def kinds():
    return hooks(settings.SEARCHED)


def groups_of(user, terms):
    """The first hits of each kind that has any; one query a kind, and what its lines need."""
    groups = []
    for searched in kinds() if terms else []:
        records = list(searched.found(user, terms)[: SHOWN_OF_A_KIND + 1])
        hits = [searched.hit(record, terms) for record in records[:SHOWN_OF_A_KIND]]
        if hits:
            groups.append(Group(searched, hits, len(records) > SHOWN_OF_A_KIND))
    return groups


def page_of_kind(user, terms, searched, number):
    """A page of the hits of one kind."""
    page = Paginator(searched.found(user, terms), PAGE_SIZE).get_page(number)
    page.object_list = [searched.hit(record, terms) for record in page.object_list]
    return page


def mended(user, text):
    """The terms of a text with the mistyped put right by the names the person may see; None where
    that changes nothing, or a term is like none of them."""
    terms = terms_of(text)
    known = _known(user)
    right = [meant(term, known) for term in terms]
    return right if right != terms and None not in right else None


def _known(user):
    """The words of the names a person may see; one query for each kind that has names."""
    words = set()
    for searched in kinds():
        if searched.names:
            rows = searched.records(user).order_by("-pk").values_list(*searched.names)
            for row in rows[:MOST_NAMES]:
                words |= {word for name in row for word in WORD.findall(str(name or ""))}
    return sorted(words)
