"""Every form and every list bears whatever is typed: it is refused in words, never an error.

Each role's pages are crawled for their forms; boxes are filled with what nobody should type, and
now and then with what is possible, so that some of it gets past the first refusal.
`SWEEPBOOK_FUZZ=10000 pytest tests/fuzz` tries 10,000 inputs, the same ones each time; with
`SWEEPBOOK_FUZZ_NEW=1` others.
"""

import re
from urllib.parse import parse_qsl, urlsplit

import pytest
from django.conf import settings
from django.urls import URLPattern, get_resolver
from hypothesis import HealthCheck, given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st

from shop.people.models import Role
from tests.fuzz.conftest import FULL, NEW
from tests.fuzz.nasty import (
    JSON,
    KEYS,
    MOMENTS,
    NUMBERS,
    TEXTS,
    TEXTS_OF_ALL_KINDS,
    files,
    near_today,
)
from tests.fuzz.pages import view_of
from tests.fuzz.sending import not_kept

# The furnished shop is in the database before the first test begins.
pytestmark = pytest.mark.django_db

TYPED = st.one_of(
    *[st.sampled_from(kind) for kind in (TEXTS, NUMBERS, MOMENTS, KEYS, JSON)],
    st.deferred(lambda: st.sampled_from(list(near_today()))),
    st.text(max_size=60),
)
# The key of no record, and of none that a database could hold.
HUGE = 10**25
# Signing out would end the trial; the health page answers 503 while migrations are not applied,
# and the suite makes its tables without them.
LEFT_OUT = {"shop:sign_out", "shop:healthz"}


def parameters():
    """Every name that the site's code reads from an address."""
    found = {"page", "sort", "_export"}
    for app in ("shop", "machines", "alignment"):
        for path in (settings.BASE_DIR / app).rglob("*.py"):
            found.update(re.findall(r'GET\.get(?:list)?\(\s*"(\w+)"', path.read_text()))
    return sorted(found)


def trying(inputs):
    """Settings for so many inputs, the same ones each time unless new ones are asked for."""
    return hypothesis_settings(
        max_examples=inputs,
        derandomize=not NEW,
        deadline=None,
        database=None,
        suppress_health_check=list(HealthCheck),
    )


@st.composite
def filled_in(draw, by_view):
    """(role, form, sent, files, whether htmx asks): a form with some boxes filled in badly."""
    role, form = draw(st.sampled_from(by_view[draw(st.sampled_from(sorted(by_view)))]))
    sent, sent_files = form.filled_in(), {}
    uploads = {one.name for one in form.fields if one.kind == "file"}
    for name in draw(st.lists(st.sampled_from(form.names), min_size=1, max_size=6, unique=True)):
        if name in uploads:
            sent_files[name] = draw(st.sampled_from(files()))
        else:
            sent[name] = [draw(TYPED)]
    return role, form, sent, sent_files, draw(st.integers(0, 4)) == 0


def test_no_form_breaks_and_what_was_refused_stays_typed(site):
    by_view = {}
    for role, form in site.forms:
        by_view.setdefault(form.view, []).append((role, form))
    assert len(by_view) > 60, "the crawl found too few of the site's forms"

    @trying(FULL or 300)
    @given(filled_in(by_view))
    def try_one(case):
        role, form, sent, sent_files, fragment = case
        answer = site.senders[role].post(form.action, sent, sent_files, fragment=fragment)
        assert answer.status_code < 500
        # Which of several forms on a page was sent is told by what nobody types.
        untouched = form.filled_in()
        tampered = any(sent.get(name) != untouched.get(name) for name in form.not_typed)
        if answer.status_code == 200 and "html" in answer["Content-Type"] and not tampered:
            assert not not_kept(form, sent, answer)

    try_one()


def test_no_list_breaks_whatever_its_address_asks(site):
    queries = st.dictionaries(
        st.sampled_from(parameters()), st.sampled_from(TEXTS_OF_ALL_KINDS), min_size=1, max_size=3
    )

    @trying(FULL // 4 or 80)
    @given(st.sampled_from(site.pages), queries)
    def try_one(page, query):
        role, address = page
        parts = urlsplit(address)
        asked = dict(parse_qsl(parts.query)) | {n: v[:5000] for n, v in query.items()}
        assert site.senders[role].get(parts.path, asked).status_code < 500

    try_one()


def patterns(found=None, prefix="", namespace=""):
    """(name, address with 0 for each number and x for each word) of the site's own pages."""
    for one in found or get_resolver().url_patterns:
        route = prefix + str(one.pattern)
        if isinstance(one, URLPattern):
            yield f"{namespace}:{one.name}", route
        elif one.namespace != "admin":
            yield from patterns(one.url_patterns, route, one.namespace or namespace)


def address(route, key):
    """A route with a key for each number in it and a word for each word."""
    parts = []
    for part in route.split("/"):
        part = part.split("<int:")[0] + str(key) + part.split(">")[-1] if "<int:" in part else part
        parts.append(part.split("<")[0] + "x2y" + part.split(">")[-1] if "<" in part else part)
    return "/" + "/".join(parts)


@pytest.mark.parametrize("key", [1, HUGE])
def test_no_address_breaks_by_itself(site, key):
    tried = 0
    for name, route in patterns():
        if name in LEFT_OUT:
            continue
        there = address(route, key)
        assert view_of(there) == name
        sender = site.senders[Role.CONTRACTOR]
        assert sender.get(there).status_code < 500, name
        assert sender.post(there, {}).status_code < 500, name
        tried += 1
    assert tried > 100
