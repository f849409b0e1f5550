"""Walks the site as a person does: by what links, buttons and boxes are called."""

from playwright.sync_api import expect

from tests.factories import PASSWORD

# Pictures that have loaded have a width of their own; those further down may still be waiting.
BROKEN_PICTURES = """() => [...document.images]
    .filter(image => image.complete && image.currentSrc && !image.naturalWidth)
    .map(image => image.currentSrc)"""
# What a visit's plan folds is unfolded as it is looked at.
UNFOLD = """() => document.querySelectorAll('.fold > details, .station > details')
    .forEach(one => { one.open = true; })"""
TOO_WIDE = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"


class Walker:
    """A person at a screen; every page they come to has to fit it and to show its pictures."""

    def __init__(self, page, user):
        self.page = page
        self.user = user

    def sign_in(self):
        self.page.goto("/")
        self.page.get_by_label("Name", exact=False).first.fill(self.user.username)
        self.page.get_by_label("Password").fill(PASSWORD)
        self.page.get_by_role("button", name="Sign in").click()
        return self.look("Today")

    def go(self, path, heading):
        self.page.goto(path)
        return self.look(heading)

    def follow(self, link, heading, within=None):
        """Follow the first link called so, inside `within` if given, to a page headed so."""
        found = (within or self.page).get_by_role("link", name=link).first
        menu = self.page.get_by_role("button", name="Menu")
        if not found.is_visible() and menu.is_visible():
            menu.click()
        found.click()
        return self.look(heading)

    def press(self, button, heading=None):
        self.page.get_by_role("button", name=button, exact=True).click()
        return self.look(heading) if heading else self

    def look(self, heading):
        """See that this is the page with that heading, that it fits, and that nothing is broken."""
        expect(self.page.get_by_role("heading", level=1)).to_contain_text(heading)
        self.page.wait_for_load_state("load")
        assert self.page.evaluate(TOO_WIDE) <= 0, f"{self.page.url} is wider than the screen"
        assert self.page.evaluate(BROKEN_PICTURES) == []
        self.page.evaluate(UNFOLD)
        return self

    def understand(self):
        """Read the cautions of sweeping where they were not read at this visit yet."""
        button = self.page.get_by_role("button", name="I have read it")
        if button.is_visible():
            button.click()
        return self

    def fill(self, label, text, within=None):
        (within or self.page).get_by_label(label).fill(text)
        return self

    def tick(self, label):
        self.page.get_by_label(label).check()
        return self

    def part(self, heading):
        """The part of the page under a heading, the innermost one."""
        return (
            self.page.locator("section")
            .filter(has=self.page.get_by_role("heading", name=heading))
            .last
        )

    def reads(self, *texts, within=None):
        """See that the page, or a part of it, says so."""
        for text in texts:
            expect(within or self.page.locator("main")).to_contain_text(text)
        return self
