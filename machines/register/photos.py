"""Photos from a phone: checked to be images, shrunk, and stripped of what the camera added."""

from django.http import FileResponse, Http404

from shop.web.images import as_file, picture_of

LONGEST_SIDE_PX = 1600


def clean_photo(upload, *, longest_side_px=LONGEST_SIDE_PX):
    """An uploaded photo as a new, small JPEG file without location or other camera data.

    Raises ValidationError when the file is too large or is not a photo.
    """
    picture = picture_of(upload, longest_side_px=longest_side_px)
    return as_file(picture, "JPEG", "photo.jpg", quality=82)


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
        headers={"X-Content-Type-Options": "nosniff"},
    )
