"""What issued papers say."""

import io

from pypdf import PdfReader


def words_of(pdf):
    """What a PDF (bytes) says, in one line: words that wrap stand beside one another."""
    pages = PdfReader(io.BytesIO(pdf)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())
