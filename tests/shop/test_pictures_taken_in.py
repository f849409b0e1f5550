"""Pictures that people hand in: refused in words or made anew, whatever is in the file."""

import io
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from PIL import Image, ImageOps

from machines.register.photos import clean_photo
from shop.paper.documents.letterhead import logo_picture
from shop.web.images import picture_of
from tests import hostile

JPEG_STARTS = b"\xff\xd8\xff"
REFUSAL = "crash.jpg is not a photo that can be read; expected JPEG, PNG or WebP."


def upload(content, name="crash.jpg"):
    return SimpleUploadedFile(name, content)


def cleaned(content):
    return clean_photo(upload(content)).read()


def made_or_refused(content):
    """The photo that was made of a file, else the words in which it was refused."""
    try:
        return cleaned(content)
    except ValidationError as refusal:
        return refusal.messages[0].encode()


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(hostile.damaged())
def test_whatever_is_handed_in_is_made_anew_or_refused_in_words(content):
    became = made_or_refused(content)
    assert became == REFUSAL.encode() or became.startswith(JPEG_STARTS)


@pytest.mark.parametrize("what", hostile.BOMBS)
def test_a_picture_that_would_fill_the_memory_is_refused_by_its_header(what):
    with pytest.raises(ValidationError, match="not a photo that can be read"):
        cleaned(hostile.BOMBS[what])


@pytest.mark.parametrize("what", hostile.NO_PICTURES)
def test_what_is_no_photo_is_refused_whatever_it_is_called(what):
    with pytest.raises(ValidationError, match="expected JPEG, PNG or WebP"):
        cleaned(hostile.NO_PICTURES[what])


@pytest.mark.parametrize("kind", hostile.KINDS)
def test_a_photo_cut_off_half_way_is_refused(kind):
    whole = hostile.picture(kind, size=(300, 300))
    with pytest.raises(ValidationError, match="can be read"):
        cleaned(whole[: len(whole) // 2])


@pytest.mark.parametrize("kind", hostile.KINDS)
def test_where_and_with_what_a_photo_was_taken_is_not_kept(kind):
    """The camera data are looked for by Pillow and in the raw bytes."""
    content = hostile.with_a_place(kind)
    assert b"a maker of cameras" in content
    made = cleaned(content)
    assert b"a maker of cameras" not in made
    assert b"Exif" not in made
    with Image.open(io.BytesIO(made)) as kept:
        assert not kept.getexif()


@pytest.mark.parametrize("kind", hostile.KINDS)
def test_a_page_hidden_behind_a_photo_is_left_behind(kind):
    made = cleaned(hostile.picture(kind) + hostile.HTML)
    assert hostile.SCRIPT not in made


def test_a_page_hidden_in_a_photo_s_comment_is_left_behind():
    out = io.BytesIO()
    Image.new("RGB", (9, 9)).save(out, "JPEG", comment=hostile.HTML)
    assert hostile.SCRIPT in out.getvalue()
    assert hostile.SCRIPT not in cleaned(out.getvalue())


@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_photo_stands_upright_as_the_imaging_library_turns_it(orientation):
    """Against `PIL.ImageOps.exif_transpose` for each of the eight orientations of Exif."""
    exif = Image.Exif()
    exif[0x0112] = orientation
    content = hostile.picture("PNG", exif=exif)
    with Image.open(io.BytesIO(content)) as image:
        expected = ImageOps.exif_transpose(image).convert("RGB")
    made = picture_of(upload(content), longest_side_px=1600)
    assert (made.size, made.tobytes()) == (expected.size, expected.tobytes())


FIRM = {
    "name": "Oldbridge Spindle Service",
    "address": "1 Workshop Lane",
    "phone": "",
    "email": "",
    "tax_number": "",
    "currency": "EUR",
    "payment_days": "30",
    "payment_note": "",
    "parts_markup_percent": "0",
    "normal_day_h": "8",
}


@pytest.fixture
def hand_in(client, contractor, firm):
    """Sends a file as the firm's logo."""
    client.force_login(contractor)

    def send(content, name="logo.png"):
        page = client.post(
            reverse("shop:firm_form", args=[firm.pk, "letterhead"]),
            FIRM | {"logo": upload(content, name)},
        )
        firm.refresh_from_db()
        return page

    return send


@pytest.mark.parametrize("what", hostile.BOMBS | hostile.NO_PICTURES)
def test_a_logo_that_is_none_is_refused_at_its_field(hand_in, firm, what):
    page = hand_in((hostile.BOMBS | hostile.NO_PICTURES)[what])
    assert page.status_code == 200
    assert page.context["form"].errors["logo"]
    assert not firm.logo


def test_a_logo_is_made_anew_as_a_picture_that_prints(hand_in, firm):
    assert hand_in(hostile.with_a_place("JPEG") + hostile.HTML, "logo.html.jpg").status_code == 302
    made = firm.logo.read()
    assert made.startswith(b"\x89PNG")
    assert hostile.SCRIPT not in made
    assert logo_picture(made) is not None


def test_a_logo_stays_when_only_the_terms_are_changed(client, hand_in, contractor, firm):
    hand_in(hostile.picture("PNG"))
    kept = firm.logo.name
    terms = reverse("shop:firm_form", args=[firm.pk, "terms"])
    client.post(terms, FIRM | {"normal_day_h": "7"})
    firm.refresh_from_db()
    assert (firm.logo.name, firm.normal_day_h) == (kept, Decimal("7"))
