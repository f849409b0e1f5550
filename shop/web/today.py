"""What the first page is made of: blocks of a few lines, each with place, age and one action."""

from dataclasses import dataclass

from shop.web.wording import day_text

LINES = 3
TEMPLATE = "shop/panels/today_block.html"


@dataclass(frozen=True)
class Line:
    """One thing to see to: what, where it leads, and the one thing to do about it.

    since: how long it has been so, or when it is, in words. phone: (as shown, its `tel:` address).
    why_url: where that stands. badge: a state
    in a word. keeps: a machine whose state the device goes
    on showing without a network.
    """

    what: str
    url: str
    where: str = ""
    since: str = ""
    why: str = ""
    why_url: str = ""
    badge: str = ""
    phone: tuple = ()
    action: str = ""
    action_url: str = ""
    keeps: object = None


@dataclass(frozen=True)
class Block:
    """One question of the morning and its answer.

    count: how many there are of all, of which `lines` are the first. sum: what they come to, in
    words. add: what can be added to it, and where. folded: shown as one line that opens. empty:
    what to say, and do next, where there is nothing.
    """

    key: str
    title: str
    lines: tuple = ()
    count: int = 0
    sum: str = ""
    more_url: str = ""
    add: str = ""
    add_url: str = ""
    folded: bool = False
    empty: str = ""
    empty_url: str = ""
    empty_action: str = ""

    @property
    def left_out(self):
        return self.count > len(self.lines)


def counted(records, shown, most):
    """How many records there are, of which the first `most` were read as `shown`; no query where
    that was all of them."""
    return len(shown) if len(shown) < most else records.count()


def age_text(day, today):
    """How long ago a day was, or how far ahead it is: 'today', 'yesterday', '12 days', 'in 3
    days'."""
    days = (today - day).days
    near = {0: "today", 1: "yesterday", -1: "tomorrow"}
    return near.get(days) or (f"{days} days" if days > 0 else f"in {-days} days")


def short_day(day, today):
    """A day as 'today', 'Fri' of the week gone by, 'Tue 8 Dec', or with its year when far off."""
    if day == today:
        return "today"
    if 0 < (today - day).days < 7:
        return f"{day:%a}"
    return f"{day:%a} {day.day} {day:%b}" if abs((day - today).days) < 180 else day_text(day)
