"""Pictures of many pixels in small files, many at once: refused, or made small in little memory."""

import io
import subprocess
import sys

import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from machines.register.photos import clean_photo
from shop.web.images import MOST_PIXELS, MOST_PIXELS_DECODED_WHOLE

SIXTY_MEGAPIXELS = (8944, 6708)
TWENTY_FOUR_MEGAPIXELS = (6000, 4000)
MB = 1024 * 1024
# All four at once; each of them decoded whole would take 180 MB and more.
MANY = """
import resource, sys, threading
import django
django.setup()
from django.core.files.uploadedfile import SimpleUploadedFile
from machines.register.photos import clean_photo
content = open(sys.argv[1], "rb").read()
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
made = []
def make():
    made.append(clean_photo(SimpleUploadedFile("a.jpg", content)))
threads = [threading.Thread(target=make) for _ in range(4)]
for one in threads: one.start()
for one in threads: one.join()
assert len(made) == 4
print((resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) * 1024)
"""


def picture(size, kind, **options):
    out = io.BytesIO()
    Image.new("RGB", size, "grey").save(out, kind, **options)
    return out.getvalue()


@pytest.mark.parametrize(
    ("size", "kind", "most_mb"),
    [(SIXTY_MEGAPIXELS, "JPEG", 60), (TWENTY_FOUR_MEGAPIXELS, "PNG", 250)],
)
def test_four_at_once_take_the_memory_of_one(size, kind, most_mb, tmp_path):
    assert size[0] * size[1] <= MOST_PIXELS
    content = picture(size, kind)
    assert len(content) < 2 * MB
    (tmp_path / "picture").write_bytes(content)
    run = subprocess.run(
        [sys.executable, "-c", MANY, tmp_path / "picture"],
        env={"DJANGO_SETTINGS_MODULE": "shop.settings", "SWEEPBOOK_DATA": str(tmp_path)},
        capture_output=True,
        text=True,
        check=True,
    )
    assert int(run.stdout) < most_mb * MB


@pytest.mark.parametrize("options", [{"kind": "PNG"}, {"kind": "JPEG", "progressive": True}])
def test_what_has_to_be_decoded_whole_may_have_fewer_pixels(options):
    width = 6000
    content = picture((width, MOST_PIXELS_DECODED_WHOLE // width + 1), **options)
    with pytest.raises(ValidationError, match="not a photo that can be read"):
        clean_photo(SimpleUploadedFile("a.jpg", content))


def test_a_large_photo_is_kept_at_the_size_of_a_small_one():
    made = clean_photo(SimpleUploadedFile("a.jpg", picture((8000, 4000), "JPEG")))
    with Image.open(made) as kept:
        assert kept.size == (1600, 800)
