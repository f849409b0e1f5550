"""What nobody should type, and what somebody will."""

import io
import zipfile
from datetime import UTC, datetime, timedelta

from PIL import Image

TEXTS = [
    "",
    " ",
    "\x00",
    "a\x00b",
    "\ud800",
    "é\u0301 \u202eabc\u202c \u200f",
    "😀" * 50,
    "x" * 41,
    "x" * 301,
    "y" * 100_000,
    "line one\r\nline two\rline three\n",
    "'; DROP TABLE shop_visit; --",
    '" onfocus=alert(1) x="',
    "<script>alert(1)</script>",
    "{{ 7|add:7 }} {% now 'Y' %}",
    "=cmd|' /C calc'!A0",
    "../../etc/passwd",
    "Subject: x\r\nBcc: y@z.example",
    "%s %(x)s %n {0} {x}",
    "\ufeff\u2028\u2029\x85\x0b\x0c\x1b[31m",
]
NUMBERS = [
    "0",
    "-0",
    "-1",
    "1e400",
    "-1e400",
    "1e-400",
    "NaN",
    "sNaN",
    "Infinity",
    "-inf",
    "1,5",
    "1.2.3",
    "٣",
    "½",
    "²",
    "0x10",
    "1_000",
    "32767",
    "32768",
    "65536",
    "2147483647",
    "2147483648",
    "9223372036854775807",
    "9223372036854775808",
    "9" * 40,
    "9" * 5000,
    "0." + "3" * 60,
    "1e10",
    "1e30",
    "-9999999999",
    "99999999.9999",
    "0.00001",
    "5 tenths",
    "-1.2 thou",
    "1e300 mm",
    "99999999999 in",
    '0.0005"',
    "1/0",
]
MOMENTS = [
    "0000-00-00",
    "0001-01-01",
    "1000-01-01",
    "1900-02-29",
    "9999-12-31",
    "9999-12-31T23:59",
    "0001-01-01T00:00+14:00",
    "9999-12-31T23:59-14:00",
    "0001-01-01T00:00",
    "10000-01-01",
    "2025-02-30",
    "2025-03-30T02:30",
    "2025-W09",
    "24:00",
    "23:59:59.999999",
    "31.12.9999",
    "12/31/2025",
    "2025-06-15",
    "2025-06-15T10:00",
    "9999-12",
    "0000-13",
]
KEYS = ["999999999", "-1", "1", "2", "None", "machine|", "machine|1", "model|", "|||", "[]"]
JSON = [
    "{",
    "[]",
    "null",
    "{}",
    '[[["a", 1]]]',
    "[[[1e999, 2]]]",
    "[[[NaN, 1]]]",
    "[" * 2000,
    '{"a": 1}',
    '["\\ud800"]',
    '[{"\\u0000": "\\u0000"}]',
    "[[0,0],[1e308,1e308]]",
]
TEXTS_OF_ALL_KINDS = [*TEXTS, *NUMBERS, *MOMENTS, *KEYS, *JSON]


def near_today():
    """Days and times that are possible, so that some inputs get past the first refusal."""
    now = datetime.now(UTC)
    for days in (-400, -1, 0, 1, 30, 4000):
        then = now + timedelta(days=days)
        yield from (f"{then:%Y-%m-%d}", f"{then:%Y-%m-%dT%H:%M}", f"{then:%H:%M}")


def files():
    """(name, type, bytes) of uploads that are not what they say, or too much."""
    image = io.BytesIO()
    Image.new("RGB", (8, 8)).save(image, "PNG")
    zipped = io.BytesIO()
    with zipfile.ZipFile(zipped, "w") as archive:
        archive.writestr("../../outside.txt", "x")
    png = image.getvalue()
    # A header that claims 60,000 by 60,000 pixels.
    bomb = png[:16] + (60_000).to_bytes(4, "big") * 2 + png[24:]
    return [
        ("empty.jpg", "image/jpeg", b""),
        ("words.png", "image/png", b"not an image"),
        ("cut.png", "image/png", png[:40]),
        ("bomb.png", "image/png", bomb),
        ("fine.png", "image/png", png),
        ("packed.zip", "application/zip", zipped.getvalue()),
        ("paper.pdf", "application/pdf", b"%PDF-1.4\n" + b"\x00\xff" * 50),
        ("list.csv", "text/csv", b"a,b\x00c\r\n1,2\r\n"),
        ("list.csv", "text/csv", b"\xff\xfe\x00,\x00;" * 20),
        ("list.csv", "text/csv", b'"never closed,1,2\n' * 3),
        ("list.csv", "text/csv", b"," * 5000 + b"\n" + b"9" * 200_000),
        ("..\\..\\evil\x00.jpg", "image/jpeg", png),
        ("x" * 300 + ".png", "image/png", png),
    ]
