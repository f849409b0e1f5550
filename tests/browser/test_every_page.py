"""Every page at the size of a phone and of a desk, light and dark: nothing that axe finds, nothing
wider than the screen.

The rules are those of axe-core, which hold a page against WCAG 2.2 at levels A and AA and against
what is good practice besides.
"""

from importlib.resources import files

import pytest
from django.test import Client

from tests.access.rules import CONTRACTOR, OPERATOR, OWNER
from tests.access.test_every_link import crawl, kind_of
from tests.access.world import World

from .conftest import DESK, LONGEST_WAIT_MS, PHONE

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

AXE = files("axe_playwright_python").joinpath("axe.min.js").read_text()
# What light and dark differ in.
PALETTE = ["color-contrast", "link-in-text-block"]
LIGHT, DARK = "light", "dark"
# The contractor's pages in all four ways; theirs who see less of the same pages in two.
LOOKS = {
    CONTRACTOR: [("phone", LIGHT), ("phone", DARK), ("desk", LIGHT), ("desk", DARK)],
    OWNER: [("phone", LIGHT), ("desk", DARK)],
    OPERATOR: [("phone", LIGHT), ("desk", DARK)],
}
SIZES = {"phone": PHONE, "desk": DESK}


@pytest.fixture
def world(settings):
    settings.BEFORE_SIGNING = []
    return World("Alder")


def addresses_for(client):
    """One address of each page that the person is led to, by its name."""
    found = {}
    for address in crawl(client).pages:
        found.setdefault(kind_of(address)[0] if address != "/" else "home", address)
    return found


@pytest.mark.parametrize("role", LOOKS)
def test_every_page_can_be_used_by_everybody(browser, live_server, world, role):
    wrong = [
        f"{name} ({page.url}): {words}"
        for name, page in every_page(browser, live_server, world.people[role])
        for words in found_on(page, LOOKS[role])
    ]
    assert wrong == [], "\n".join(wrong)


def every_page(browser, live_server, person):
    """(its name, the page open on a phone) of each page a person is led to, one after the other."""
    client = Client()
    client.force_login(person)
    context = browser.new_context(viewport=PHONE, base_url=live_server.url)
    context.set_default_timeout(LONGEST_WAIT_MS)
    cookie = client.cookies["sessionid"]
    context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": live_server.url}])
    page = context.new_page()
    for name, address in addresses_for(client).items():
        page.goto(address)
        yield name, page
    context.close()


def found_on(page, looks):
    """What is wrong with an open page in each of its looks: (size, palette)."""
    page.evaluate(AXE)
    for number, (size, palette) in enumerate(looks):
        page.set_viewport_size(SIZES[size])
        page.emulate_media(color_scheme=palette)
        over = page.evaluate("document.documentElement.scrollWidth") - SIZES[size]["width"]
        if over > 0:
            yield f"{size}: {over} px wider than the screen"
        found = axe(page, PALETTE if number and palette == DARK else None)
        yield from (f"{size}, {palette}, {words}" for words in found)


def axe(page, rules=None):
    only = {"runOnly": {"type": "rule", "values": rules}} if rules else {}
    options = only | {"resultTypes": ["violations"]}
    for one in page.evaluate("options => axe.run(options)", options)["violations"]:
        places = ", ".join(node["target"][0] for node in one["nodes"][:3])
        yield f"{one['id']} at {places}"
