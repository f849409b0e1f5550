"""Pictures that people hand in: checked, and made anew, so that nothing of their files is kept."""

import io
import struct
import threading

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from PIL import ExifTags, Image

FORMATS = ("JPEG", "PNG", "WEBP")
# A camera's JPEG is decoded straight to about the size that is kept (draft mode). What has to be
# decoded whole, 4 bytes a pixel and a copy of that, may have fewer.
MOST_PIXELS = 60_000_000
MOST_PIXELS_DECODED_WHOLE = 25_000_000
# Modes in which a picture is shrunk before its colours are converted.
SHRINKS_AS_IT_IS = {"L", "RGB", "RGBA", "CMYK", "YCbCr"}
# One picture at a time is decoded in a process, however many are handed in at once.
DECODING = threading.Lock()

# How a picture is turned upright: Exif 2.3, tag 274, by what `PIL.ImageOps.exif_transpose` does.
# That function also writes the camera's data again and fails where they are odd.
TURNS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
# What the decoders raise for a file that is broken, or made to break them.
UNREADABLE = (
    OSError,  # UnidentifiedImageError is one
    SyntaxError,
    ValueError,
    EOFError,
    TypeError,
    struct.error,
    Image.DecompressionBombError,
)


def refuse_too_large(upload):
    """Raise ValidationError for a file larger than any photo."""
    if upload.size > settings.MAX_PHOTO_BYTES:
        raise ValidationError(
            f"{upload.name}: the file is {upload.size / 1e6:.0f} MB; "
            f"at most {settings.MAX_PHOTO_BYTES / 1e6:.0f} MB are taken."
        )


def picture_of(upload, *, longest_side_px, mode="RGB"):
    """The picture of an uploaded file, upright and shrunk, without anything else of the file.

    Raises ValidationError when the file is too large, has more pixels than a camera takes, or is
    not a JPEG, PNG or WebP that can be read.
    """
    refuse_too_large(upload)
    try:
        with DECODING:
            return _decoded(upload, longest_side_px, mode)
    except UNREADABLE as error:
        raise ValidationError(
            f"{upload.name} is not a photo that can be read; expected JPEG, PNG or WebP."
        ) from error


# A picture that comes in an archive may be as large as the largest that is kept of an upload.
LONGEST_ARCHIVED_PX = 2400


def made_anew(content, name):
    """The bytes of a picture that came in an archive, made anew as an upload's are: what is drawn
    stays a PNG, a photo a JPEG. Raises ValidationError."""
    upload = ContentFile(content, name=name)
    is_drawn = content.startswith(b"\x89PNG")
    mode, kind = ("RGBA", "PNG") if is_drawn else ("RGB", "JPEG")
    picture = picture_of(upload, longest_side_px=LONGEST_ARCHIVED_PX, mode=mode)
    options = {} if is_drawn else {"quality": 90}
    return as_file(picture, kind, name, **options).read()


def as_file(picture, kind, name, **options):
    """A picture as a new file of a kind such as "JPEG"."""
    out = io.BytesIO()
    picture.save(out, kind, **options)
    return ContentFile(out.getvalue(), name=name)


def shrunk(image, size, mode):
    """An opened image, not yet decoded, brought within `size` pixels in a mode; it takes no more
    memory than that needs. Raises ValueError for more pixels than a camera takes."""
    is_scaled = image.format == "JPEG" and not image.info.get("progressive")
    if image.width * image.height > (MOST_PIXELS if is_scaled else MOST_PIXELS_DECODED_WHOLE):
        raise ValueError("more pixels than a camera takes")
    image.draft("RGB", size)
    if image.mode in SHRINKS_AS_IT_IS:
        image.thumbnail(size)
    plain = image.convert(mode)
    plain.thumbnail(size)
    return plain


def _decoded(upload, longest_side_px, mode):
    with Image.open(upload, formats=FORMATS) as image:
        turn = TURNS.get(image.getexif().get(ExifTags.Base.Orientation))
        plain = shrunk(image, (longest_side_px, longest_side_px), mode)
    upright = plain if turn is None else plain.transpose(turn)
    # A fresh picture carries none of the info, camera data included, of the one it came from.
    bare = Image.new(mode, upright.size)
    bare.paste(upright)
    return bare
