"""Files that are broken, or made to break what reads them."""

import io
import struct
import zlib

from hypothesis import strategies as st
from PIL import Image

KINDS = ("JPEG", "PNG", "WEBP")
SCRIPT = b"<script>alert(1)</script>"
SVG = b'<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg">' + SCRIPT + b"</svg>"
HTML = b"<!doctype html><html><body>" + SCRIPT + b"</body></html>"


def picture(kind="JPEG", size=(60, 40), exif=None):
    """A picture's file; the top left quarter is red, so that turning it shows."""
    image = Image.new("RGB", size, "white")
    image.paste("red", (0, 0, size[0] // 2, size[1] // 2))
    out = io.BytesIO()
    image.save(out, kind, **({"exif": exif} if exif is not None else {}))
    return out.getvalue()


def with_a_place(kind="JPEG"):
    """A picture whose camera data say where and with what it was taken."""
    exif = Image.Exif()
    exif[0x010F] = "a maker of cameras"
    place = exif.get_ifd(0x8825)
    place[1], place[2] = "N", (47.0, 22.0, 1.0)
    return picture(kind, exif=exif)


def _chunk(name, data):
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))


def png_that_claims(width, height):
    """A PNG of a few bytes whose header declares a size."""
    head = _chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + head + _chunk(b"IDAT", zlib.compress(b"")) + _chunk(b"IEND", b"")


def webp_that_claims(width, height):
    """An extended WebP whose canvas declares a size."""
    canvas = bytes(4) + (width - 1).to_bytes(3, "little") + (height - 1).to_bytes(3, "little")
    body = b"WEBPVP8X" + struct.pack("<I", len(canvas)) + canvas
    return b"RIFF" + struct.pack("<I", len(body)) + body


def jpeg_that_claims(width, height):
    """A JPEG whose frame header declares a size."""
    whole = picture()
    frame = whole.index(b"\xff\xc0") + 5
    return whole[:frame] + struct.pack(">HH", height, width) + whole[frame + 4 :]


BOMBS = {
    "PNG of a gigapixel": png_that_claims(32_000, 32_000),
    "PNG of 2^31 by 2^31": png_that_claims(2**31 - 1, 2**31 - 1),
    "WebP of 16 million by 16 million": webp_that_claims(2**24, 2**24),
    "JPEG of 65,535 by 65,535": jpeg_that_claims(65_535, 65_535),
    "PNG a little over what a camera takes": png_that_claims(10_000, 6_001),
}
NO_PICTURES = {
    "SVG with a script": SVG,
    "page with a script": HTML,
    "GIF": picture("GIF"),
    "TIFF": picture("TIFF"),
    "program": b"MZ\x90\x00" + bytes(200),
    "PostScript": b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\nshowpage\n",
    "nothing but zeros": bytes(500),
    "SVG behind the first bytes of a JPEG": b"\xff\xd8\xff\xe0" + SVG,
}


def damaged():
    """Strategy: pictures cut off anywhere, with some bytes changed, or nothing but bytes."""
    whole = {kind: with_a_place(kind) for kind in KINDS}

    @st.composite
    def one(draw):
        data = bytearray(whole[draw(st.sampled_from(KINDS))])
        del data[draw(st.integers(1, len(data))) :]
        for place in draw(st.lists(st.integers(0, len(data) - 1), max_size=12)):
            data[place] = draw(st.integers(0, 255))
        return bytes(data)

    return st.one_of(one(), st.binary(min_size=1, max_size=300))
