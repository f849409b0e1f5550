"""A machine's history as a document, put together from `MACHINE_HISTORY_SECTIONS` and issued."""

from dataclasses import dataclass
from datetime import datetime
from functools import partial
from zoneinfo import ZoneInfo

from django.conf import settings
from django.utils import timezone
from django.utils.text import slugify

from machines.register.models import Machine
from shop.hooks import hooks
from shop.paper.documents import DocumentMeta, Letterhead, Section, build_document
from shop.paper.issuing import CheckMark, issue
from shop.paper.letters import InWords, letterhead
from shop.paper.models import Document
from shop.people.models import Firm
from shop.web.entries import entered_once, identified
from shop.web.wording import dates_written, day_text

from .models import IssuedHistory

KIND = Document.Kind.HISTORY


@dataclass(frozen=True)
class MachineHistory(InWords):
    """What a section is given: the machine, the moment up to which its history is told, and how
    lengths, days and times are written.

    A section is a function of it that returns a list of flowables, its heading first; it is empty
    when it has nothing to say.
    """

    machine: Machine
    until: datetime
    unit: str
    zone: ZoneInfo
    check: CheckMark | None = None


@entered_once(IssuedHistory)
def issue_history(machine, *, made_by, firm=None, entry_id=None):
    """Issue a machine's history up to now, on the letterhead of a firm or, without one, the shop's.

    It is stored once, with its SHA-256 and a code to check it by, like every document.
    """
    at = timezone.now()
    number = _number(machine, at)
    build = partial(build_history, machine, number=number, made_by=made_by, firm=firm, at=at)
    document = issue(build, shop=machine.shop, firm=firm, kind=KIND, number=number, at=at)
    return IssuedHistory.objects.create(
        machine=machine, document=document, made_by=made_by, made_at=at, **identified(entry_id)
    )


def _number(machine, at):
    """Such as MH-7-2025-03-05; the second of a day ends in -2."""
    day = at.astimezone(machine.shop.zone).date()
    first = f"MH-{slugify(machine.number) or machine.pk}-{day:%Y-%m-%d}"
    earlier = machine.issued_histories.filter(document__number__startswith=first).count()
    return f"{first}-{earlier + 1}" if earlier else first


def build_history(
    machine, check=None, *, number, made_by, firm: Firm | None = None, at: datetime
) -> bytes:
    """The history of a machine up to `at` as PDF bytes.

    check: the `CheckMark` printed on it when it is issued.
    """
    history = MachineHistory(
        machine=machine,
        until=at,
        unit=machine.shop.length_unit,
        zone=machine.shop.zone,
        check=check,
    )
    with dates_written((firm or machine.shop).date_form):
        made = (section(history) for section in hooks(settings.MACHINE_HISTORY_SECTIONS))
        sections = [Section("", flowables) for flowables in made if flowables]
        return build_document(_meta(history, number, made_by, firm), sections)


def _meta(history, number, made_by, firm):
    machine, shop = history.machine, history.machine.shop
    return DocumentMeta(
        firm=letterhead(firm) if firm else _letterhead_of(shop),
        title="Machine history",
        number=number,
        date=history.day(history.until),
        about=[
            ("Machine", str(machine)),
            ("Shop", f"{shop.name}\n{shop.address}"),
            ("Up to", history.when(history.until)),
            ("Issued by", made_by.name),
        ],
        paper=(firm or shop).paper_size,
        subject=f"History of machine {machine} up to {day_text(history.until)}",
        stamped_at=history.until,
    )


def _letterhead_of(shop):
    return Letterhead(name=shop.name, address=tuple(shop.address.splitlines()))
