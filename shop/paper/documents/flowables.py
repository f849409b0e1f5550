"""Small drawn parts of documents: verdicts, drawn signatures, rules."""

from reportlab.platypus import Flowable

from shop.paper.drawing import Pen, to_flowable, verdict_mark
from shop.paper.palettes import PRINT

from . import styles
from .text import Text

VERDICT_MARK = 8
SIGNATURE_HEIGHT = 38
PEN_WIDTH = 1.1


class Verdict(Flowable):
    """A verdict as its shape, its colour and its word, for a table cell or a line of its own."""

    def __init__(self, verdict):
        super().__init__()
        self.verdict = verdict
        self.word = Text(verdict or "–", styles.CELL_BOLD if verdict else styles.CELL)

    def wrap(self, available_width, available_height):
        indent = VERDICT_MARK + 5
        _, self.height = self.word.wrap(available_width - indent, available_height)
        self.width = available_width
        return self.width, self.height

    def draw(self):
        pen = Pen(VERDICT_MARK + 2, VERDICT_MARK + 2, PRINT)
        if self.verdict:
            middle = VERDICT_MARK / 2 + 1
            verdict_mark(pen, self.verdict, middle, middle, VERDICT_MARK)
        top = self.height - styles.CELL.leading / 2
        to_flowable(pen.drawing, align="LEFT").drawOn(self.canv, 0, top - VERDICT_MARK / 2 - 1)
        self.word.drawOn(self.canv, VERDICT_MARK + 5, 0)


class SignatureStrokes(Flowable):
    """A signature drawn on a screen, as vectors.

    ``strokes`` are lists of (x, y) points in any unit, y counting downwards as screens count; the
    drawing is fitted into its box, its proportions kept. A stroke of one point is a dot.
    """

    def __init__(self, strokes, width, height=SIGNATURE_HEIGHT):
        super().__init__()
        self.strokes = [list(stroke) for stroke in strokes if stroke]
        self.width, self.height = width, height

    def wrap(self, available_width, available_height):
        return self.width, self.height

    def draw(self):
        canvas = self.canv
        canvas.setStrokeColor(styles.INK)
        canvas.setLineWidth(PEN_WIDTH)
        canvas.setLineCap(1)
        canvas.setLineJoin(1)
        for stroke in self.placed():
            first, *others = stroke
            path = canvas.beginPath()
            path.moveTo(*first)
            for point in others or [first]:
                path.lineTo(*point)
            canvas.drawPath(path)

    def placed(self):
        """The strokes in points from the lower left corner of the box."""
        across = [x for stroke in self.strokes for x, _ in stroke]
        down = [y for stroke in self.strokes for _, y in stroke]
        if not across:
            return []
        left, low = min(across), max(down)
        room = PEN_WIDTH
        scale = min(
            (self.width - 2 * room) / max(max(across) - left, 1e-9),
            (self.height - 2 * room) / max(low - min(down), 1e-9),
        )
        return [
            [(room + (x - left) * scale, room + (low - y) * scale) for x, y in stroke]
            for stroke in self.strokes
        ]


class Bookmark(Flowable):
    """Nothing to see: a place that enters the outline."""

    def __init__(self, title, level=1):
        super().__init__()
        self.outline = (title, level)

    def wrap(self, available_width, available_height):
        return 0, 0

    def draw(self):
        """It has no size and no ink."""


class Rule(Flowable):
    """A line across the column."""

    def __init__(self, weight=styles.THIN, colour=styles.RULE, before=0, after=0):
        super().__init__()
        self.weight, self.colour = weight, colour
        self.spaceBefore, self.spaceAfter = before, after

    def wrap(self, available_width, available_height):
        self.width = available_width
        return available_width, self.weight

    def draw(self):
        self.canv.setStrokeColor(self.colour)
        self.canv.setLineWidth(self.weight)
        self.canv.line(0, 0, self.width, 0)
