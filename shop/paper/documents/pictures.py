"""Photos in a document: two beside each other, each with what it shows."""

from io import BytesIO

from PIL import Image, UnidentifiedImageError
from reportlab.platypus import Flowable, Table
from reportlab.platypus import Image as Picture

from shop.paper.fonts import REGULAR
from shop.web.images import DECODING, FORMATS, shrunk

from . import styles
from .text import Text

GAP = 14
TALLEST = 190
# Enough for print at this width; a report with twenty photos can still be mailed.
PRINT_PIXELS = (1000, 1000)
JPEG_QUALITY = 80


def photo_grid(photos) -> Flowable:
    """Photos two in a row; ``photos`` are (file, caption) pairs.

    Rows go on over pages. A photo whose file is gone or cannot be read is said to be missing,
    above its caption.
    """
    width = (styles.TEXT_WIDTH - GAP) / 2
    cells = [[_picture(file, width), Text(caption, styles.CAPTION)] for file, caption in photos]
    cells += [""] * (len(cells) % 2)
    rows = [[cells[n], "", cells[n + 1]] for n in range(0, len(cells), 2)]
    padding = [(f"{side}PADDING", (0, 0), (-1, -1), 0) for side in ("LEFT", "RIGHT", "TOP")]
    return Table(
        rows,
        colWidths=[width, GAP, width],
        spaceAfter=styles.BLOCK_GAP,
        style=[
            *padding,
            ("FONTNAME", (0, 0), (-1, -1), REGULAR),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 6),
        ],
    )


def _picture(file, width):
    try:
        jpeg, (across, down) = _for_print(file)
    except (UnidentifiedImageError, Image.DecompressionBombError, OSError, ValueError, SyntaxError):
        return Text("This photo is missing.", styles.CELL)
    scale = min(width / across, TALLEST / down)
    return Picture(jpeg, across * scale, down * scale, hAlign="LEFT")


def _for_print(file):
    """(JPEG, its size in pixels), no larger than print needs."""
    with DECODING, file.open("rb") as opened, Image.open(opened, formats=FORMATS) as image:
        colours = shrunk(image, PRINT_PIXELS, "RGB")
    jpeg = BytesIO()
    colours.save(jpeg, "JPEG", quality=JPEG_QUALITY)
    jpeg.seek(0)
    return jpeg, colours.size
