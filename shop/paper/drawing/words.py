"""Words inside figures: fitted to a width, wrapped, and joined into sentences."""

from shop.paper.fonts import text_width

ELLIPSIS = "…"


def fitted(text, width, size, bold=False):
    """The text, shortened with an ellipsis when it is wider than ``width`` points."""
    if text_width(text, size, bold) <= width:
        return text
    while text and text_width(text + ELLIPSIS, size, bold) > width:
        text = text[:-1]
    return text.rstrip() + ELLIPSIS


def wrapped(text, width, size, bold=False):
    """The text in lines no wider than ``width``; a word longer than a line is shortened.

    A no-break space keeps a number and its unit on one line.
    """
    lines = []
    for word in text.split(" "):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size, bold) <= width:
            lines[-1] = longer
        else:
            lines.append(fitted(word, width, size, bold))
    return lines


def listed(words):
    """'a', 'a and b', 'a, b and c'."""
    *most, last = list(words) or [""]
    return f"{', '.join(most)} and {last}" if most else last


def abridged(items, most, tell=str):
    """The first and the latest of a long list as `tell` puts them, with how many lie between; all
    of a short one."""
    items = list(items)
    if len(items) <= most:
        return [tell(item) for item in items]
    latest = [tell(item) for item in items[len(items) - most + 1 :]]
    return [tell(items[0]), f"{len(items) - most} more between", *latest]
