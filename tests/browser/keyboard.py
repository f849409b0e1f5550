"""Somebody with a keyboard alone: counts the pages they come to and the boxes they fill."""

from playwright.sync_api import expect

MOST_TABS = 120
# What a screen reader would call the thing that has the focus.
FOCUSED = """() => {
  const one = document.activeElement;
  const labels = [...(one.labels || [])].map(label => label.innerText).join(' ');
  const named = one.getAttribute('aria-label') || labels || one.innerText || '';
  return named.replace(/\\s+/g, ' ').trim();
}"""
KIND = "() => document.activeElement.type || document.activeElement.tagName.toLowerCase()"
# Whether what has the focus is one of a group of choices, one of which is called so.
OFFERS = """option => {
  const one = document.activeElement;
  const group = one.type === 'radio' ? [...document.getElementsByName(one.name)] : [];
  return group.some(other => [...(other.labels || [])].some(
    label => label.innerText.replace(/\\s+/g, ' ').trim().startsWith(option)));
}"""


class Keyboard:
    """Goes from box to box with Tab, types, and presses Enter, arrows and the space bar."""

    def __init__(self, page):
        self.page = page
        self.pages = self.fields = 0
        page.on("load", self._came_to_a_page)

    def _came_to_a_page(self, _page):
        self.pages += 1

    def open(self, path, heading):
        self.page.goto(path)
        return self.at(heading)

    def at(self, heading):
        """See that this is the page with that heading; the focus begins at its top."""
        expect(self.page.get_by_role("heading", level=1)).to_contain_text(heading)
        return self

    def to(self, name, *, kinds=()):
        """Go on with Tab until something of that name has the focus."""
        for _ in range(MOST_TABS):
            self.page.keyboard.press("Tab")
            if self.page.evaluate(FOCUSED).startswith(name) and self._is(kinds):
                return self
        raise AssertionError(f"no way with Tab to '{name}' on {self.page.url}")

    def _is(self, kinds):
        return not kinds or self.page.evaluate(KIND) in kinds

    def fill(self, label, text):
        """Type into a box in place of what stands there."""
        self.to(label)
        self.page.keyboard.press("ControlOrMeta+a")
        self.page.keyboard.type(text)
        self.fields += 1
        return self

    def fill_box(self, name, text):
        """Type into the box of that name in the form: one of many that are called the same."""
        for _ in range(MOST_TABS):
            self.page.keyboard.press("Tab")
            if self.page.evaluate("() => document.activeElement.name") == name:
                break
        else:
            raise AssertionError(f"no way with Tab to the box {name} on {self.page.url}")
        self.page.keyboard.press("ControlOrMeta+a")
        self.page.keyboard.type(text)
        self.fields += 1
        return self

    def tick(self, label):
        self.to(label)
        self.page.keyboard.press("Space")
        self.fields += 1
        return self

    def choose(self, option):
        """Take one of a group of choices, which Tab enters where one is chosen or at its first."""
        for _ in range(MOST_TABS):
            self.page.keyboard.press("Tab")
            if self.page.evaluate(OFFERS, option):
                break
        else:
            raise AssertionError(f"no choice of '{option}' on {self.page.url}")
        for _ in range(MOST_TABS):
            if self.page.evaluate(FOCUSED).startswith(option):
                break
            self.page.keyboard.press("ArrowDown")
        self.page.keyboard.press("Space")
        assert self.page.evaluate("() => document.activeElement.checked")
        self.fields += 1
        return self

    def press(self, name, heading):
        """Press a button or follow a link, to a page headed so."""
        self.to(name, kinds=("submit", "button", "a"))
        before = self.page.url
        with self.page.expect_event("load"):
            self.page.keyboard.press("Enter")
        assert self.page.get_by_role("alert").count() == 0, (before, self.page.content())
        return self.at(heading)
