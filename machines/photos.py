"""Photos from a phone: checked to be images, shrunk, and stripped of what the camera added."""

import io

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.http import FileResponse, Http404
from PIL import Image, ImageOps, UnidentifiedImageError

FORMATS = ("JPEG", "PNG", "WEBP")
LONGEST_SIDE_PX = 1600
MOST_PIXELS = 60_000_000


def clean_photo(upload, *, longest_side_px=LONGEST_SIDE_PX):
    """An uploaded photo as a new, small JPEG file without location or other camera data.

    Raises ValidationError when the file is too large or is not a photo.
    """
    if upload.size > settings.MAX_PHOTO_BYTES:
        raise ValidationError(
            f"{upload.name}: the file is {upload.size / 1e6:.0f} MB; "
            f"at most {settings.MAX_PHOTO_BYTES / 1e6:.0f} MB are taken."
        )
    try:
        return _as_jpeg(upload, longest_side_px)
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError, EOFError) as error:
        raise ValidationError(
            f"{upload.name} is not a photo that can be read; expected JPEG, PNG or WebP."
        ) from error


def jpeg_of(image, filename):
    """A stored photo, which is a JPEG, as a response; Http404 when its file is gone."""
    try:
        content = image.open()
    except FileNotFoundError as error:
        raise Http404("the file of this photo is gone") from error
    return FileResponse(
        content,
        content_type="image/jpeg",
        filename=filename,
        headers={"X-Content-Type-Options": "nosniff", "Cache-Control": "private, max-age=86400"},
    )


def _as_jpeg(upload, longest_side_px):
    """Decode, turn upright, shrink and encode anew, so that nothing of the old file is kept."""
    with Image.open(upload, formats=FORMATS) as image:
        if image.width * image.height > MOST_PIXELS:
            raise ValueError("more pixels than a camera takes")
        upright = ImageOps.exif_transpose(image).convert("RGB")
    upright.thumbnail((longest_side_px, longest_side_px))
    # A fresh image carries none of the info, EXIF location included, of the one it came from.
    bare = Image.new("RGB", upright.size)
    bare.paste(upright)
    out = io.BytesIO()
    bare.save(out, "JPEG", quality=82)
    return ContentFile(out.getvalue(), name="photo.jpg")
