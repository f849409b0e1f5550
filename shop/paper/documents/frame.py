"""The frame every document is printed in: letterhead, title, running header, footer, outline."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from io import BytesIO

from reportlab.platypus import (
    BaseDocTemplate,
    CondPageBreak,
    Flowable,
    Frame,
    KeepTogether,
    NextPageTemplate,
    PageTemplate,
    Paragraph,
    Table,
)

from shop.paper.drawing import fitted
from shop.paper.fonts import BOLD, REGULAR, text_width
from shop.paper.fonts.scripts import printable, visual_line

from . import styles
from .blocks import heading
from .letterhead import Letterhead, opening

DRAFT_WORDS = "DRAFT, not signed"
DRAFT_SIZE = 62
DRAFT_TURN = 52
HEADER_SIZE = 8

# How much of what follows a heading must stand with it on the page.
LINES_KEPT = 3
ROWS_KEPT = 2
TALLEST_KEPT = styles.SHORTEST_PAGE - styles.TOP_LATER - styles.BOTTOM - 20

# A typeface keeps its place in its file while it is read: one document at a time.
writing = threading.Lock()


@dataclass(frozen=True)
class DocumentMeta:
    """What stands around the story.

    ``date`` is as it is to be printed; ``about`` are (label, value) pairs such as shop and
    machine; ``corrects`` names what this document corrects, such as 'report 2025-014';
    ``paper`` is 'A4' or 'Letter';
    ``stamped_at`` goes into the file as its time of creation; it is given, not read from the
    clock, so that the same input gives the same bytes.
    """

    firm: Letterhead
    title: str
    number: str
    date: str
    about: Sequence[tuple[str, str]] = ()
    subject: str = ""
    lang: str = "en"
    draft: bool = False
    draft_words: str = DRAFT_WORDS
    corrects: str = ""
    paper: str = "A4"
    stamped_at: datetime = datetime(2000, 1, 1, tzinfo=UTC)


@dataclass(frozen=True)
class Section:
    """A part of the document under a heading of its own, which enters the outline."""

    title: str
    flowables: Sequence[Flowable]


def build_document(meta: DocumentMeta, sections: Sequence[Section]) -> bytes:
    """The document as a PDF; the same input gives the same bytes.

    Safe to call from several threads, with flowables of its own in each.
    """
    file = BytesIO()
    with writing:
        _Template(file, meta).build(_story(meta, sections))
    return file.getvalue()


def _story(meta, sections):
    parts = []
    for section in sections:
        parts += [heading(section.title)] if section.title else []
        parts += section.flowables
    return [
        NextPageTemplate("later"),
        *opening(meta),
        *_with_kept_headings(_with_what_precedes(parts)),
    ]


def _with_what_precedes(flowables):
    """What never stands alone on a page joined to what precedes it, unless that is a heading or
    long itself."""
    kept = []
    for flowable in flowables:
        before = kept[-1] if kept else None
        if getattr(flowable, "follows", False) and _is_short(before):
            kept[-1] = KeepTogether([*_contents(before), *_contents(flowable)])
        else:
            kept.append(flowable)
    return kept


def _is_short(flowable):
    if flowable is None or getattr(flowable, "outline", None):
        return False
    return _with_air(flowable) <= TALLEST_KEPT / 2


def _with_kept_headings(flowables):
    """Before each heading, a page break unless it and the start of what follows have room."""
    kept = []
    for place, flowable in enumerate(flowables):
        if getattr(flowable, "outline", None):
            kept.append(CondPageBreak(_height_kept(flowables[place:])))
        kept.append(flowable)
    return kept


def _height_kept(flowables):
    """Height of a run of headings with the first part of what follows them."""
    height = 0
    for flowable in flowables:
        height += flowable.getSpaceBefore() + _first_part(flowable)
        if not getattr(flowable, "outline", None):
            break
        height += flowable.getSpaceAfter()
    return min(height, TALLEST_KEPT)


def _first_part(flowable):
    """Height of as much of a flowable as must stand with its heading."""
    if isinstance(flowable, KeepTogether):
        return sum(_whole(part) for part in flowable._content)
    height = _whole(flowable)
    if isinstance(flowable, Paragraph):
        return min(height, LINES_KEPT * flowable.style.leading)
    if isinstance(flowable, Table):
        return sum(flowable._rowHeights[: (flowable.repeatRows or 0) + ROWS_KEPT])
    return height


def _whole(flowable):
    return flowable.wrap(styles.TEXT_WIDTH, styles.PAGE_HEIGHT)[1]


def first_that_fits(choices, others, taken=0) -> Flowable:
    """The first of several flowables that has room on a page of any paper with the ``others`` and
    so many points ``taken`` above them; the last where none has."""
    room = styles.SHORTEST_PAGE - styles.TOP_LATER - styles.BOTTOM - taken
    room -= sum(_with_air(one) for one in others)
    *fitting, last = choices
    return next((one for one in fitting if _with_air(one) <= room), last)


def _with_air(flowable):
    parts = _contents(flowable)
    return sum(_whole(one) + one.getSpaceBefore() + one.getSpaceAfter() for one in parts)


def _contents(flowable):
    return flowable._content if isinstance(flowable, KeepTogether) else [flowable]


class _Template(BaseDocTemplate):
    """Pages are laid out once. Each names a footer that is drawn when all of them are made, since
    'page x of y' needs to know y."""

    _doSave = False

    def __init__(self, file, meta):
        self.meta = meta
        self.paper_width, self.paper_height = paper = styles.PAPER_SIZES[meta.paper]
        self.side = (self.paper_width - styles.TEXT_WIDTH) / 2
        super().__init__(
            file,
            pagesize=paper,
            title=f"{printable(meta.title)} {printable(meta.number)}",
            author=printable(meta.firm.name),
            subject=printable(meta.subject or meta.title),
            creator="Sweepbook",
            producer="Sweepbook",
            lang=meta.lang,
            invariant=1,
            displayDocTitle=1,
            initialFontName=REGULAR,
        )
        self.addPageTemplates(
            [
                self._page("first", styles.TOP_FIRST, self._draw_first),
                self._page("later", styles.TOP_LATER, self._draw_later),
            ]
        )

    def _makeCanvas(self, *args, **options):
        canvas = super()._makeCanvas(*args, **options)
        stamp(canvas, self.meta.stamped_at)
        return canvas

    def beforeDocument(self):
        self._headings, self._level = 0, 0

    def afterFlowable(self, flowable):
        if outline := getattr(flowable, "outline", None):
            self._enter(*outline)

    def _enter(self, title, level):
        """Put a heading into the outline; one may go only one level deeper at a time."""
        self._headings += 1
        self._level = min(level, self._level + 1)
        key = f"heading-{self._headings}"
        self.canv.bookmarkPage(key)
        self.canv.addOutlineEntry(title, key, self._level - 1, closed=False)

    def _endBuild(self):
        super()._endBuild()
        for page in range(1, self.page + 1):
            self.canv.beginForm(_footer_name(page))
            self._footer(self.canv, page)
            self.canv.endForm()
        self.canv.save()

    def _draw_first(self, canvas, template):
        self._draft(canvas)
        canvas.doForm(_footer_name(self.page))

    def _draw_later(self, canvas, template):
        self._draft(canvas)
        self._header(canvas)
        canvas.doForm(_footer_name(self.page))

    def _draft(self, canvas):
        """The mark lies under the text, pale enough to read through, plain enough to see."""
        if not self.meta.draft:
            return
        canvas.saveState()
        canvas.setFillColor(styles.DRAFT)
        canvas.setFont(BOLD, DRAFT_SIZE)
        canvas.translate(self.paper_width / 2, self.paper_height / 2)
        canvas.rotate(DRAFT_TURN)
        canvas.drawCentredString(0, -DRAFT_SIZE / 3, self.meta.draft_words)
        canvas.restoreState()

    def _header(self, canvas):
        y = self.paper_height - styles.HEADER_BELOW_TOP
        title = f"{self.meta.title} {self.meta.number}"
        _line_of_text(canvas, self.side, y, self.meta.firm.name, title, bold_right=True)
        _rule(canvas, self.side, y - 6)

    def _footer(self, canvas, page):
        y = styles.FOOTER_AT
        _rule(canvas, self.side, y + 11)
        draft = f", {self.meta.draft_words}" if self.meta.draft else ""
        where = f"{self.meta.number}{draft} · page {page} of {self.page}"
        _line_of_text(canvas, self.side, y, self.meta.date, where)

    def _page(self, name, top, draw):
        height = self.paper_height - top - styles.BOTTOM
        none = dict.fromkeys(["leftPadding", "rightPadding", "topPadding", "bottomPadding"], 0)
        frame = Frame(self.side, styles.BOTTOM, styles.TEXT_WIDTH, height, **none)
        return PageTemplate(name, [frame], onPage=draw)


def _footer_name(page):
    return f"footer-{page}"


def _rule(canvas, side, y):
    canvas.setStrokeColor(styles.RULE)
    canvas.setLineWidth(styles.THIN)
    canvas.line(side, y, side + styles.TEXT_WIDTH, y)


def _line_of_text(canvas, side, y, left, right, bold_right=False):
    """One line with words at both ends; the left ones give way when there is not room for both."""
    right = visual_line(" ".join(printable(right).split()))
    canvas.setFillColor(styles.MUTED)
    canvas.setFont(BOLD if bold_right else REGULAR, HEADER_SIZE)
    canvas.drawRightString(side + styles.TEXT_WIDTH, y, right)
    room = styles.TEXT_WIDTH - text_width(right, HEADER_SIZE, bold_right) - 12
    canvas.setFont(REGULAR, HEADER_SIZE)
    canvas.drawString(side, y, visual_line(fitted(printable(left), room, HEADER_SIZE)))


def stamp(canvas, when):
    """Write the time of creation, in UTC."""
    moment = when.astimezone(UTC)
    stamp = canvas._doc._timeStamp
    stamp.t = moment.timestamp()
    stamp.lt = moment.timetuple()
    stamp.YMDhms = tuple(stamp.lt)[:6]
    stamp.dhh = stamp.dmm = 0
