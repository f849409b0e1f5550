"""Documents too small for a letterhead, such as labels: the same file facts, outline and lock."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from io import BytesIO

from reportlab.pdfgen.canvas import Canvas

from shop.paper.fonts import REGULAR
from shop.paper.fonts.scripts import printable

from .frame import DocumentMeta, stamp, writing


def build_small(
    meta: DocumentMeta,
    page_size: tuple[float, float],
    pages: Sequence[tuple[str, Callable[[Canvas], None]]],
) -> bytes:
    """Pages drawn freely, each with its title in the outline; the same input gives the same bytes.

    page_size: width and height in points. pages: (title, what draws it on a canvas).
    """
    file = BytesIO()
    with writing:
        canvas = Canvas(
            file, pagesize=page_size, lang=meta.lang, invariant=1, initialFontName=REGULAR
        )
        _facts(canvas, meta)
        for number, (title, draw) in enumerate(pages, start=1):
            canvas.bookmarkPage(f"page-{number}")
            canvas.addOutlineEntry(printable(title), f"page-{number}", 0)
            draw(canvas)
            canvas.showPage()
        canvas.save()
    return file.getvalue()


def _facts(canvas, meta):
    canvas.setTitle(f"{printable(meta.title)} {printable(meta.number)}")
    canvas.setAuthor(printable(meta.firm.name))
    canvas.setSubject(printable(meta.subject or meta.title))
    canvas.setCreator("Sweepbook")
    canvas.setProducer("Sweepbook")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    stamp(canvas, meta.stamped_at)
