"""Clock positions, days and times in words, the same on the page and in print."""

from contextlib import contextmanager
from contextvars import ContextVar


def clock_position(deg):
    """An angle clockwise from the top as the clock's hour and minute hand would say it.

    90 is "3:00", 45 is "1:30"; the top is "12:00".
    """
    minutes = round((deg % 360) * 2) % 720
    hour = minutes // 60 or 12
    return f"{hour}:{minutes % 60:02d}"


# How days are written on the paper that is being made; on pages, always the usual way.
_form = ContextVar("date_form", default="dmy")


@contextmanager
def dates_written(form):
    """While this lasts, days are written as 'dmy', 'mdy' or 'ymd' says."""
    token = _form.set(form)
    try:
        yield
    finally:
        _form.reset(token)


def day_text(day):
    """A day as '5 Mar 2026'; on paper that is made for it, 'Mar 5, 2026' or '2026-03-05'."""
    if _form.get() == "mdy":
        return f"{day:%b} {day.day}, {day:%Y}"
    if _form.get() == "ymd":
        return f"{day:%Y-%m-%d}"
    return f"{day.day} {day:%b %Y}"


def time_text(moment, zone):
    """A moment in a zone as '5 Mar 2026, 14:05'."""
    local = moment.astimezone(zone)
    return f"{day_text(local)}, {local:%H:%M}"


def span_text(span):
    """A length of time in its two largest units: '3 d 4 h', '5 h 20 min', '12 min'."""
    minutes = round(span.total_seconds() / 60)
    days, hours, minutes = minutes // 1440, minutes % 1440 // 60, minutes % 60
    if days:
        return f"{days} d {hours} h" if hours else f"{days} d"
    if hours:
        return f"{hours} h {minutes} min" if minutes else f"{hours} h"
    return f"{minutes} min"


def one_line(text):
    """The text without line breaks, which a mail's head must not hold (RFC 5322, 2.2)."""
    return " ".join(text.split())
