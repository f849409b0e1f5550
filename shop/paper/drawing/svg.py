"""A drawing as SVG for the page and as a flowable for a document.

The library's writer has five habits corrected here: it rounds colours to whole percents, it draws
a line to its end and back, which fills the gaps of a dash, it rounds the height of text to whole
units, it places text by a typeface the browser may not have, and it styles with style attributes,
which a strict content security policy refuses where an SVG is opened by itself.
"""

import copy

from reportlab.graphics import renderSVG
from reportlab.graphics.shapes import Group, String

from shop.paper.fonts import BOLD, SVG_FAMILY
from shop.paper.fonts.scripts import printable, visual_line


def _hex(color):
    return "none" if color is None else f"#{color.hexval()[2:]}"


class _Canvas(renderSVG.SVGCanvas):
    def line(self, x1, y1, x2, y2):
        self.polyLine([(x1, y1), (x2, y2)])

    def setStrokeColor(self, color):
        self._strokeColor = color
        self.style["stroke"] = _hex(color)

    def setFillColor(self, color):
        self._fillColor = color
        self.style["fill"] = _hex(color)

    def setLineJoin(self, v):
        self.style["stroke-linejoin"] = {0: "miter", 1: "round", 2: "bevel"}[v]

    def drawString(self, s, x, y, text_anchor="start", **ignored):
        weight = {"font-weight": "bold"} if self._font == BOLD else {}
        node = renderSVG.transformNode(
            self.doc,
            "text",
            x=self.fp_str(x),
            y=self.fp_str(-y),
            transform="scale(1,-1)",
            style=f"font-size: {self._fontSize}px; {self._formatStyle(['fill'])}",
            **{"font-family": SVG_FAMILY, "text-anchor": text_anchor, **weight},
        )
        node.appendChild(self.doc.createTextNode(s))
        self.currGroup.appendChild(node)


def to_svg(drawing, title, description="") -> str:
    """The drawing as an SVG document that scales to its box.

    ``title`` and ``description`` are what a screen reader says; give the figure's ``describe()``
    as the description. The same drawing gives the same text.
    """
    canvas = _Canvas((drawing.width, drawing.height))
    renderSVG.draw(drawing, canvas)
    _name(canvas, title, description)
    _use_attributes(canvas.svg)
    return canvas.doc.documentElement.toxml()


def _name(canvas, title, description):
    svg = canvas.svg
    svg.setAttribute("role", "img")
    svg.setAttribute("preserveAspectRatio", "xMidYMid meet")
    for tag, text in (("title", title), ("desc", description)):
        node = svg.getElementsByTagName(tag)[0]
        node.firstChild.data = printable(text)


def _use_attributes(node):
    """Turn the style of a node and everything in it into plain attributes."""
    for child in [node, *node.getElementsByTagName("*")]:
        if not child.hasAttribute("style"):
            continue
        for declaration in child.getAttribute("style").split(";"):
            name, colon, value = declaration.partition(":")
            if colon:
                child.setAttribute(name.strip(), value.strip().replace("None", "none"))
        child.removeAttribute("style")


def to_flowable(drawing, width=None, align="CENTER"):
    """The drawing for a PDF, ``width`` points wide (None: as drawn), still vectors.

    The drawing itself stays as it is; what need not differ, they share.
    """
    scaled = _for_print(drawing)
    scaled.hAlign = align
    if width is not None:
        scaled.renderScale = width / drawing.width
    return scaled


def _for_print(node):
    """A group with copies of what holds right-to-left words, which stand there as they are seen."""
    copied = copy.copy(node)
    copied.contents = [_shape_for_print(one) for one in node.contents]
    return copied


def _shape_for_print(node):
    if isinstance(node, Group):
        return _for_print(node)
    if isinstance(node, String) and (seen := visual_line(node.text)) != node.text:
        node = copy.copy(node)
        node.text = seen
    return node


def shapes(group):
    """Every shape of a drawing, from back to front, groups opened."""
    for node in group.contents:
        if isinstance(node, Group):
            yield from shapes(node)
        else:
            yield node
