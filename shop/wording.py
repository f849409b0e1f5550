"""Clock positions, days and times in words, the same on the page and in print."""


def clock_position(deg):
    """An angle clockwise from the top as the clock's hour and minute hand would say it.

    90 is "3:00", 45 is "1:30"; the top is "12:00".
    """
    minutes = round((deg % 360) * 2) % 720
    hour = minutes // 60 or 12
    return f"{hour}:{minutes % 60:02d}"


def day_text(day):
    """A day as '5 Mar 2026'."""
    return f"{day.day} {day:%b %Y}"


def time_text(moment, zone):
    """A moment in a zone as '5 Mar 2026, 14:05'."""
    local = moment.astimezone(zone)
    return f"{day_text(local)}, {local:%H:%M}"
