"""The fit of the device in a real browser, held against the Python core."""

import numpy as np
import pytest
from django.contrib.staticfiles import finders

from tests.alignment.test_fit_on_device import EACH, FIT, LENGTHS, differences, drawn


def in_chromium(browser, expression, asked):
    page = browser.new_page()
    for name in (FIT, LENGTHS):
        page.add_script_tag(path=finders.find(name))
    names = "{ const fit = window.sweepFit, lengths = window.sweepLengths;"
    found = page.evaluate(
        f"(given) => {names} return JSON.parse(JSON.stringify({expression})); }}", asked
    )
    page.close()
    return found


@pytest.mark.browser
def test_a_browser_says_the_same(browser):
    rng = np.random.default_rng(23)
    cases = [drawn(rng) for _ in range(500)]
    assert differences(cases, in_chromium(browser, EACH, cases))[:1] == []
