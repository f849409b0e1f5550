"""A real Chromium for the browser tests; where none is installed they are skipped, except in CI."""

import os
import shutil

import pytest

from tests.factories import PASSWORD

# Playwright's plain interface runs an event loop in this thread, which Django would take for an
# asynchronous caller and refuse to query the database for.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"

QUIET = [
    "--no-sandbox",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-default-apps",
    "--disable-domain-reliability",
    "--disable-sync",
    "--metrics-recording-only",
    "--no-first-run",
    "--no-pings",
]
PHONE = {"width": 360, "height": 740}
DESK = {"width": 1280, "height": 900}
LONGEST_WAIT_MS = 15_000


def _chromium():
    return shutil.which("chromium") or shutil.which("chromium-browser")


@pytest.fixture(scope="session")
def browser():
    """One Chromium for the whole run."""
    executable = _chromium()
    if executable is None:
        if os.environ.get("CI"):
            pytest.fail("CI walks the pages in Chromium, and there is no chromium on the PATH.")
        pytest.skip("no chromium on the PATH")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=executable, args=QUIET)
        yield chromium
        chromium.close()


@pytest.fixture(params=[PHONE, DESK], ids=["phone", "desk"])
def window(request, browser, live_server):
    """Opens pages of the running site, at the size of a phone and of a desk screen.

    Call it for a new person at a new screen; the page's script errors fail the test.
    """
    contexts, errors = [], []

    def open_window(**options):
        context = browser.new_context(viewport=request.param, base_url=live_server.url, **options)
        context.set_default_timeout(LONGEST_WAIT_MS)
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: errors.append(str(error)))
        return page

    yield open_window
    for context in contexts:
        context.close()
    assert errors == []


@pytest.fixture
def phone(browser, live_server):
    """Opens the site on a phone, signed in and sent on to an address."""
    contexts = []

    def opened(person, address):
        context = browser.new_context(viewport=PHONE, base_url=live_server.url)
        context.set_default_timeout(LONGEST_WAIT_MS)
        contexts.append(context)
        page = context.new_page()
        page.goto(address)
        page.get_by_label("Username").fill(person.username)
        page.get_by_label("Password").fill(PASSWORD)
        page.get_by_role("button", name="Sign in").click()
        return page

    yield opened
    for context in contexts:
        context.close()
