"""How a document writes lengths, days and times, and whose letterhead it carries."""

from shop.lengths import format_length
from shop.web.wording import day_text, time_text

from .documents import Letterhead


class InWords:
    """How a document writes lengths, days and times, by its own `unit` and `zone`."""

    def length(self, value_um):
        """A length in the document's unit; a dash for None."""
        return "–" if value_um is None else format_length(value_um, self.unit, with_unit=True)

    def when(self, moment):
        """A moment in the shop's zone; a dash for None."""
        return "–" if moment is None else time_text(moment, self.zone)

    def day(self, moment):
        """The day of a moment in the shop's zone; a dash for None."""
        return "–" if moment is None else day_text(moment.astimezone(self.zone).date())


def letterhead(firm):
    """A firm's name, address, ways to reach it and logo as they stand on its documents."""
    return Letterhead(
        name=firm.name,
        address=tuple(firm.address.splitlines()),
        contact=tuple(line for line in (firm.phone, firm.email) if line),
        logo=logo_of(firm),
    )


def logo_of(firm):
    """The logo's bytes, None without one; a lost file withholds no document."""
    if not firm.logo:
        return None
    try:
        with firm.logo.open() as file:
            return file.read()
    except OSError:
        return None
