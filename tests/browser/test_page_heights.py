"""How high each page is and what one reads before one can do anything; run by
`tests.benchmarks.heights`."""

import pytest

from tests.benchmarks.noted import asked_for, note

from .conftest import DESK, PHONE
from .test_every_page import LOOKS, every_page, world

__all__ = ["world"]

pytestmark = [
    pytest.mark.browser,
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(not asked_for(), reason="a measurement: python -m tests.benchmarks.heights"),
]

HEIGHT = "document.documentElement.scrollHeight"
# The words one sees of the page's own part before the first thing one can press or fill in.
WORDS = """() => {
  const main = document.querySelector("main");
  const can = "a.button, button, input:not([type=hidden]), select, textarea, summary";
  const walker = document.createTreeWalker(main, NodeFilter.SHOW_ELEMENT | NodeFilter.SHOW_TEXT);
  let words = 0;
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    if (node.nodeType === Node.TEXT_NODE) {
      const parent = node.parentElement;
      if (parent.checkVisibility() && !parent.closest("nav, .visually-hidden"))
        words += node.textContent.split(/\\s+/).filter(Boolean).length;
    } else if (node.matches(can) && node.checkVisibility()) return words;
  }
  return null;
}"""


@pytest.mark.parametrize("role", LOOKS)
def test_heights(browser, live_server, world, role):
    for name, page in every_page(browser, live_server, world.people[role]):
        found = {"role": role, "page": name, "words": page.evaluate(WORDS)}
        for size, viewport in (("phone", PHONE), ("desk", DESK)):
            page.set_viewport_size(viewport)
            found[size] = page.evaluate(HEIGHT)
        page.set_viewport_size(PHONE)
        note(**found)
