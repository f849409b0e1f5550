"""The site's own pages as a person finds them: what links there are and which forms to fill in."""

from dataclasses import dataclass, field
from html.parser import HTMLParser
from urllib.parse import urljoin, urlsplit

from django.urls import Resolver404, resolve

UNTYPED = {"submit", "button", "reset", "image"}
# What a browser shows as it was typed, whatever it was.
SHOWN_AGAIN = {"text", "textarea", "search", "email", "url", "tel"}


@dataclass
class Field:
    """A box of a form: its kind, what stands in it and what may be chosen."""

    name: str
    kind: str
    value: str = ""
    choices: list = field(default_factory=list)


@dataclass
class Form:
    """A form of a page, and where it goes."""

    page: str
    action: str
    method: str
    fields: list = field(default_factory=list)

    @property
    def view(self):
        """The name of the address it is sent to, such as `machines:read_meter`."""
        return view_of(self.action)

    @property
    def not_typed(self):
        """Names that no person fills in: what is hidden, and the buttons."""
        return {one.name for one in self.fields if one.kind in UNTYPED | {"hidden"}}

    @property
    def names(self):
        return sorted({one.name for one in self.fields})

    def filled_in(self):
        """What a browser would send of it untouched: name to the list of values."""
        sent = {}
        for one in self.fields:
            if one.kind in UNTYPED or one.kind == "file":
                continue
            if one.kind in {"checkbox", "radio"} and not one.choices:
                continue
            sent.setdefault(one.name, []).append(one.value)
        return sent


class Page(HTMLParser):
    """The links and forms of a page, and what stands in its boxes."""

    def __init__(self, address, text):
        super().__init__()
        self.address, self.links, self.forms, self.boxes = address, [], [], {}
        self.by_id, self._open, self._select, self._area = {}, None, None, None
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        given = dict(attributes)
        if tag == "a" and given.get("href"):
            self.links.append(urljoin(self.address, given["href"]))
        elif tag == "form":
            action = urljoin(self.address, given.get("action") or self.address)
            self._open = Form(self.address, action, (given.get("method") or "get").lower())
            self.forms.append(self._open)
            self.by_id[given.get("id")] = self._open
        elif tag == "option" and self._select:
            self._select.choices.append(given.get("value", ""))
            if "selected" in given or not self._select.value:
                self._select.value = given.get("value", "")
        elif given.get("name") and tag in {"input", "select", "textarea", "button"}:
            self._box(tag, given)

    def _box(self, tag, given):
        kind = {"select": "select", "textarea": "textarea"}.get(tag, given.get("type", "text"))
        box = Field(given["name"], kind, given.get("value") or "")
        if kind in {"checkbox", "radio"}:
            box.choices = [box.value] if "checked" in given else []
        owner = self.by_id.get(given["form"]) if "form" in given else self._open
        if owner is not None:
            owner.fields.append(box)
        self.boxes.setdefault(box.name, []).append(box)
        self._select = box if tag == "select" else None
        self._area = box if tag == "textarea" else None

    def handle_data(self, text):
        if self._area is not None:
            self._area.value += text

    def handle_endtag(self, tag):
        if tag == "form":
            self._open = None
        elif tag == "textarea" and self._area is not None:
            self._area.value = self._area.value.removeprefix("\n")
            self._area = None
        elif tag == "select":
            self._select = None


def view_of(address):
    """The name of the view behind an address; "" for another site's or none."""
    try:
        return resolve(urlsplit(address).path).view_name
    except Resolver404:
        return ""


def crawl(client, *, start="/", per_view=2, leave_out=()):
    """Pages a person can reach by links, `per_view` of each kind; addresses to `Page`s."""
    found, waiting, seen, counted = {}, [start], {start}, {}
    while waiting:
        address = waiting.pop(0)
        answer = client.get(address)
        assert answer.status_code < 500, address
        if answer.status_code != 200 or "html" not in answer.get("Content-Type", ""):
            continue
        page = found[address] = Page(address, answer.content.decode())
        for link in [*page.links, *(form.action for form in page.forms)]:
            parts = urlsplit(link)
            if parts.netloc or parts.scheme:
                continue
            view, to = view_of(link), f"{parts.path}?{parts.query}" if parts.query else parts.path
            kind = (view, bool(parts.query))
            if not view or view in leave_out or view.startswith("admin:") or to in seen:
                continue
            if counted.get(kind, 0) < per_view:
                counted[kind] = counted.get(kind, 0) + 1
                seen.add(to)
                waiting.append(to)
    return found
