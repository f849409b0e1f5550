"""Documents: one frame for every PDF, and the blocks they are put together from.

>>> firm = Letterhead("Firm", address=["Street 1"], contact=["office@firm.example"])
>>> meta = DocumentMeta(firm, "Service report", "2025-001", "12 Mar 2025")
>>> build_document(meta, [Section("Findings", [paragraph("Nothing moved.")])])[:5]
b'%PDF-'
"""

from .blocks import (
    Evidence,
    caution_box,
    evidence_list,
    figure,
    figures_in_rows,
    figures_side_by_side,
    heading,
    paragraph,
    verdict,
)
from .flowables import Bookmark
from .frame import DocumentMeta, Section, build_document, first_that_fits
from .letterhead import Letterhead
from .pictures import photo_grid
from .signing import Signature, check_block, qr_code, signature_block
from .small import build_small
from .tables import Carried, Column, answers, data_table, key_values

__all__ = [
    "Bookmark",
    "Carried",
    "Column",
    "DocumentMeta",
    "Evidence",
    "Letterhead",
    "Section",
    "Signature",
    "answers",
    "build_document",
    "build_small",
    "caution_box",
    "check_block",
    "data_table",
    "evidence_list",
    "figure",
    "figures_in_rows",
    "figures_side_by_side",
    "first_that_fits",
    "heading",
    "key_values",
    "paragraph",
    "photo_grid",
    "qr_code",
    "signature_block",
    "verdict",
]
