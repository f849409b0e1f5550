"""What people typed, made safe to print: markup printed as it stands, any script, any length."""

from functools import lru_cache
from xml.sax.saxutils import escape

from reportlab.lib.enums import TA_LEFT, TA_RIGHT
from reportlab.platypus import Paragraph
from reportlab.platypus.paragraph import cleanBlockQuotedText

from shop.paper.fonts.scripts import has_rtl, is_rtl, printable, visual_words


class Text(Paragraph):
    """A paragraph of plain text: nothing in it is markup, and line breaks are kept.

    Lines with right-to-left words are put into the order they are seen as they are drawn, after
    the lines have been broken, so that the text still splits over pages.
    """

    outline = None  # (title, level) of a heading
    _broken_for = None  # the width its lines were last broken for

    def __init__(self, text, style, **parts):
        """``parts`` are what the library hands over when it splits a paragraph (text is None)."""
        if text is None:
            super().__init__(None, style, **parts)
            return
        text = printable(text)
        self._has_rtl = has_rtl(text)
        self._rtl = self._has_rtl and is_rtl(text)
        if self._rtl and style.alignment == TA_LEFT:
            style = style.clone(f"{style.name} from the right", alignment=TA_RIGHT)
        marked = _marked(text)
        super().__init__(marked, style, frags=_plain_fragments(marked, style))

    def wrap(self, available_width, available_height):
        """Breaks its lines anew only for another width, or where splitting forgot them: tables
        measure their cells again and again."""
        if self._broken_for != available_width or not hasattr(self, "blPara"):
            self._size = super().wrap(available_width, available_height)
            self._broken_for = available_width
        return self._size

    def split(self, available_width, available_height):
        parts = super().split(available_width, available_height)
        for part in parts:
            part._rtl, part._has_rtl = self._rtl, self._has_rtl
        if parts:
            parts[0].outline = self.outline
        return parts

    def draw(self):
        if not self._has_rtl:
            super().draw()
            return
        logical = self.blPara
        self.blPara = self._seen(logical)
        super().draw()
        self.blPara = logical

    def _seen(self, lines):
        """The broken lines in visual order; text in several typefaces is left as it is."""
        if lines.kind != 0:
            return lines
        seen = lines.clone()
        seen.lines = [
            (line[0], visual_words(line[1], self._rtl), *line[2:]) for line in lines.lines
        ]
        return seen


BREAK = "<br/>"


def _plain_fragments(marked, style):
    """What the library's parser makes of text that needs no parsing, which is most text; None for
    text with escaped characters, which goes through the parser."""
    lines = cleanBlockQuotedText(marked).split(BREAK)
    if any("&" in line for line in lines):
        return None
    words, line_break = _parsed(style)
    fragments = []
    for place, line in enumerate(lines):
        if place:
            fragments.append(line_break.clone())
        if line:
            fragments.append(words.clone(text=line))
    return fragments


@lru_cache(maxsize=64)
def _parsed(style):
    """The fragments of a word and of a line break in a style, to be cloned."""
    return Paragraph(f"-{BREAK}", style).frags


def markup(text):
    """Plain text as the paragraph markup that prints exactly it."""
    return _marked(printable(text))


def _marked(text):
    return escape(text).replace("\n", BREAK)
