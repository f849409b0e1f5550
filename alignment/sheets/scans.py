"""Scans of sheets: what may be taken in, and how it is given out again."""

from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.http import FileResponse, Http404

from machines.register.photos import clean_photo
from shop.web.images import refuse_too_large

from .models import SheetScan

# A4 at 200 dots an inch: fine print can still be read.
LONGEST_SIDE_PX = 2340
PDF_HEAD, PDF_END = b"%PDF-", b"%%EOF"
# ISO 32000-1, 7.5.5: readers look for the end marker in the last part of the file, since some
# programs write more behind it.
END_WITHIN = 1024


def clean_scan(upload):
    """(file, kind) of an uploaded scan, known by its content and not by its name.

    A picture is made anew as a JPEG; a PDF is kept as it is. Raises ValidationError for a file
    that is too large or is neither.
    """
    refuse_too_large(upload)
    content = upload.read()
    upload.seek(0)
    if content.startswith(PDF_HEAD):
        if PDF_END not in content[-END_WITHIN:]:
            raise ValidationError(f"{upload.name} is a PDF that breaks off; make the scan again.")
        return ContentFile(content, name="scan.pdf"), SheetScan.Kind.PDF
    try:
        return clean_photo(upload, longest_side_px=LONGEST_SIDE_PX), SheetScan.Kind.JPEG
    except ValidationError as error:
        raise ValidationError(
            f"{upload.name} is neither a PDF nor a picture that can be read; "
            "expected PDF, JPEG, PNG or WebP."
        ) from error


def given_out(scan):
    """A stored scan as a download that no browser runs; Http404 when its file is gone."""
    try:
        content = scan.file.open()
    except FileNotFoundError as error:
        raise Http404("the file of this scan is gone") from error
    return FileResponse(
        content,
        as_attachment=True,
        content_type=scan.kind,
        filename=scan.filename,
        headers={"X-Content-Type-Options": "nosniff", "Cache-Control": "private, no-store"},
    )
