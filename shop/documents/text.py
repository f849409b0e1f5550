"""What people typed, made safe to print: markup printed as it stands, any script, any length."""

import unicodedata
from itertools import groupby
from xml.sax.saxutils import escape

from reportlab.lib.enums import TA_LEFT, TA_RIGHT
from reportlab.platypus import Paragraph

from shop.fonts import CHINESE, JAPANESE, KOREAN, east_asian, has_glyph
from shop.fonts.scripts import has_rtl, is_rtl, printable, visual_words

# East Asian letters the embedded typeface lacks go to the reader's own, by the start of their
# Unicode name; Han characters go to Japanese where kana stand beside them, else to Chinese.
_KANA = ("HIRAGANA", "KATAKANA", "HALFWIDTH KATAKANA")
_HAN = ("CJK", "IDEOGRAPHIC", "FULLWIDTH")


class Text(Paragraph):
    """A paragraph of plain text: nothing in it is markup, and line breaks are kept.

    Lines with right-to-left words are put into the order they are seen as they are drawn, after
    the lines have been broken, so that the text still splits over pages.
    """

    outline = None  # (title, level) of a heading

    def __init__(self, text, style, **parts):
        """``parts`` are what the library hands over when it splits a paragraph (text is None)."""
        if text is None:
            super().__init__(None, style, **parts)
            return
        text = printable(text)
        if is_rtl(text) and style.alignment == TA_LEFT:
            style = style.clone(f"{style.name} from the right", alignment=TA_RIGHT)
        self._rtl, self._has_rtl = is_rtl(text), has_rtl(text)
        super().__init__(markup(text), style)

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


def markup(text):
    """Plain text as the paragraph markup that prints exactly it."""
    text = printable(text)
    runs = groupby(text, key=lambda character: _typeface(character, text))
    return "".join(_run("".join(characters), typeface) for typeface, characters in runs)


def _run(text, typeface):
    escaped = escape(text).replace("\n", "<br/>")
    return f'<font name="{east_asian(typeface)}">{escaped}</font>' if typeface else escaped


def _typeface(character, text):
    """The East Asian typeface a character needs; None for the embedded one."""
    if character == "\n" or has_glyph(character) or ord(character) > 0xFFFF:
        return None
    name = unicodedata.name(character, "")
    if name.startswith(_KANA):
        return JAPANESE
    if name.startswith("HANGUL"):
        return KOREAN
    if name.startswith(_HAN):
        return JAPANESE if _has_kana(text) else CHINESE
    return None


def _has_kana(text):
    return any("\u3040" <= character <= "\u30ff" for character in text)
