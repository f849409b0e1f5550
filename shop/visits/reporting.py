"""The service report: gathered from every app's sections, in the order of `REPORT_SECTIONS`."""

from dataclasses import dataclass, field, replace
from zoneinfo import ZoneInfo

from django.conf import settings

from shop.hooks import hooks
from shop.paper.documents import DocumentMeta, Section, build_document
from shop.paper.issuing import CheckMark
from shop.paper.letters import InWords, letterhead
from shop.web.wording import dates_written, day_text

from .models import Visit


@dataclass(frozen=True)
class Report(InWords):
    """What a section is given: the visit, and how lengths, days and times are written in it.

    A section is a function of a Report that returns a list of flowables, its heading first; it is
    empty when it has nothing to say.
    """

    visit: Visit
    unit: str
    zone: ZoneInfo
    check: CheckMark | None = None
    gathered: dict = field(default_factory=dict, repr=False, compare=False)

    def once(self, gather):
        """What the function ``gather`` finds for this report, asked for by the first section that
        needs it and kept for the others, and for a copy with another check mark."""
        if gather not in self.gathered:
            self.gathered[gather] = gather(self)
        return self.gathered[gather]


def report_of(visit, check=None):
    """The `Report` of a visit, in the shop's unit and zone."""
    return Report(visit=visit, unit=visit.shop.length_unit, zone=visit.shop.zone, check=check)


def build_report(visit, check=None):
    """The service report of a visit as PDF bytes; marked as a draft until it is signed.

    check: the `CheckMark` printed on it when it is issued.
    """
    return _written(report_of(visit, check))


def report_writer(visit):
    """A function of a `CheckMark` or None that builds the report anew from what it gathered once:
    an issued document is made twice."""
    report = report_of(visit)
    return lambda check: _written(replace(report, check=check))


def _written(report):
    with dates_written(report.visit.firm.date_form):
        made = (section(report) for section in hooks(settings.REPORT_SECTIONS))
        sections = [Section("", flowables) for flowables in made if flowables]
        return build_document(_meta(report), sections)


def _meta(report):
    visit, firm = report.visit, report.visit.firm
    return DocumentMeta(
        firm=letterhead(firm),
        title="Service report",
        number=f"SR-{visit.number}",
        date=day_text(visit.day),
        about=[
            ("Shop", f"{visit.shop.name}\n{visit.shop.address}"),
            ("Visit", f"{visit.number}: {visit.purpose}"),
            ("Service contractor", visit.contractor.name),
            *([("Day agreed", visit.day_told.in_words)] if visit.day_told else []),
            ("On site", f"{report.when(visit.arrived_at)} to {report.when(visit.left_at)}"),
        ],
        subject=f"Visit {visit.number} to {visit.shop.name}",
        draft=not visit.is_signed,
        paper=firm.paper_size,
        corrects=f"report SR-{visit.corrects.number}" if visit.corrects else "",
        stamped_at=visit.signed_at or visit.arrived_at or visit.made_at,
    )
