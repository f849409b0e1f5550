"""A machine's label and its short address."""

import io

import pypdf
import pypdfium2
import pytest
import segno
from django.urls import reverse

from machines.register.labels import ROLLS, SHEETS, Label, on_roll, on_sheets
from machines.register.models import CODE_LETTERS, Machine
from shop.paper.documents import DocumentMeta, Letterhead
from shop.paper.documents.styles import PAPER_SIZES
from shop.paper.models import Document
from tests import factories

META = DocumentMeta(
    Letterhead("Alder Screw Works"), "Machine label", "LB-M12-20250312", "12 Mar 2025"
)
LABEL = Label("M12", "slider 20 mm", "Alder Screw Works", "http://shop.example/m/k7wq2x/")


MARK = "LB-M12-20250312 · 3F9A-21C7-0B44-9D1E"


def pages(content):
    return pypdf.PdfReader(io.BytesIO(content)).pages


def printed(client, machine, size):
    """The file that pressing a size's button leads to."""
    url = reverse("machines:print_label", args=[machine.pk])
    return b"".join(client.post(url, {"size": size}, follow=True).streaming_content)


def millimetres(page):
    return tuple(round(float(side) / 72 * 25.4) for side in page.mediabox.upper_right)


@pytest.mark.parametrize(("size", "sides"), ROLLS.items())
def test_a_roll_label_s_page_is_as_large_as_the_label(size, sides):
    (page,) = pages(on_roll(LABEL, size, META, MARK))
    assert millimetres(page) == sides


@pytest.mark.parametrize("size", ROLLS)
def test_a_label_names_number_name_shop_and_address(size):
    text = pages(on_roll(LABEL, size, META, MARK))[0].extract_text()
    for told in ("M12", "slider 20 mm", "Alder Screw Works", "shop.example/m/k7wq2x/", MARK):
        assert told in text


def test_the_address_on_the_smallest_label_is_not_cut_however_long():
    long = Label("M12", "x", "y", "https://sweepbook.a-rather-long-name.example/m/k7wq2x/")
    text = pages(on_roll(long, "62x29", META, MARK))[0].extract_text()
    assert "sweepbook.a-rather-long-name.example/m/k7wq2x/" in text


@pytest.mark.parametrize(
    ("size", "paper_mm", "count"),
    [
        # 8.5 and 11 in are 215.9 and 279.4 mm.
        ("a4", (210, 297), 24),
        ("a4-gaps", (210, 297), 24),
        ("letter", (216, 279), 24),
        ("letter-30", (216, 279), 30),
    ],
)
def test_a_sheet_takes_its_labels_and_a_second_sheet_the_rest(size, paper_mm, count):
    sheets = pages(on_sheets([LABEL] * (count + 1), size, META, MARK))
    assert [millimetres(sheet) for sheet in sheets] == [paper_mm] * 2
    assert [sheet.extract_text().count("slider 20 mm") for sheet in sheets] == [count, 1]


@pytest.mark.parametrize("size", SHEETS)
def test_the_labels_of_a_sheet_fit_its_paper(size):
    sheet = SHEETS[size]
    width, height = (side / 72 * 25.4 for side in PAPER_SIZES[sheet.paper])
    assert sheet.across * sheet.width + (sheet.across - 1) * sheet.gap <= width + 0.01
    assert sheet.down * sheet.height <= height + 0.01


@pytest.mark.parametrize(("paper", "other"), [("A4", "Letter"), ("Letter", "A4")])
def test_the_sheets_offered_are_of_the_shop_s_paper(client, operator, machine, paper, other):
    machine.shop.paper_size = paper
    machine.shop.save()
    client.force_login(operator)
    page = client.get(reverse("machines:label", args=[machine.pk])).content.decode()
    assert f"{paper} sheet of 24 labels" in page
    assert f"{other} sheet" not in page


def test_the_code_on_the_label_is_that_of_its_address():
    """Read module by module from the printed page and compared with the code drawn anew."""
    wanted = [list(row) for row in segno.make(LABEL.address, error="m").matrix_iter(border=4)]
    picture = (
        pypdfium2.PdfDocument(on_roll(LABEL, "100x60", META))[0]
        .render(scale=8)
        .to_pil()
        .convert("L")
    )
    side = 0.45 * 100
    count = len(wanted)
    read = [
        [
            int(_at(picture, 1.5 + (column + 0.5) * side / count, row, side, count) < 128)
            for column in range(count)
        ]
        for row in range(count)
    ]
    assert read == [[int(module) for module in row] for row in wanted]


def _at(picture, x_mm, row, side, count):
    """The grey at a module's middle; the code stands in the middle of the label's 60 mm."""
    y_mm = (60 - side) / 2 + (row + 0.5) * side / count
    scale = picture.width / 100
    return picture.getpixel((int(x_mm * scale), int(y_mm * scale)))


def short(machine):
    return reverse("machines:at_machine", args=[machine.code])


def test_a_label_s_address_lands_on_logging_what_happened(client, operator, machine):
    client.force_login(operator)
    response = client.get(short(machine))
    assert response.url == reverse("alignment:log_incident", args=[machine.pk])


def test_an_address_copied_in_capitals_is_understood(client, operator, machine):
    client.force_login(operator)
    assert client.get(short(machine).replace(machine.code, machine.code.upper())).status_code == 302


def test_whoever_is_not_signed_in_is_asked_to_and_comes_back(client, operator, machine):
    asked = client.get(short(machine))
    assert asked.url == f"{reverse('shop:sign_in')}?next={short(machine)}"
    data = {"username": operator.username, "password": factories.PASSWORD}
    assert client.post(asked.url, data).url == short(machine)


def test_a_stranger_finds_no_machine_at_the_address(client, stranger, machine):
    client.force_login(stranger)
    assert client.get(short(machine)).status_code == 404


def test_codes_hold_no_letters_that_look_alike_and_no_two_are_the_same(db):
    codes = [factories.MachineFactory().code for _ in range(30)]
    assert len(set(codes)) == 30
    assert set("".join(codes)) <= set(CODE_LETTERS)
    assert not set("0o1il") & set(CODE_LETTERS)


def test_the_sheet_carries_every_machine_of_the_shop_and_no_other_s(client, owner, machine, shop):
    factories.MachineFactory(shop=shop, number="M2")
    factories.MachineFactory(number="ZZ9")
    client.force_login(owner)
    text = pages(printed(client, machine, "a4"))[0].extract_text()
    assert all(f"/m/{one.code}/" in text for one in Machine.objects.filter(shop=shop))
    assert "ZZ9" not in text


def test_a_label_of_an_unknown_size_is_not_found(client, owner, machine):
    client.force_login(owner)
    url = reverse("machines:print_label", args=[machine.pk])
    assert client.post(url, {"size": "9x9"}).status_code == 404


def test_the_label_page_offers_every_size(client, owner, machine):
    client.force_login(owner)
    shown = client.get(reverse("machines:label", args=[machine.pk])).content.decode()
    assert short(machine) in shown
    assert all(f'value="{size}"' in shown for size in [*ROLLS, "a4"])


def test_strangers_find_no_label(client, stranger, machine):
    client.force_login(stranger)
    assert client.get(reverse("machines:label", args=[machine.pk])).status_code == 404
    url = reverse("machines:print_label", args=[machine.pk])
    assert client.post(url, {"size": "62x29"}).status_code == 404


def test_a_printed_label_is_kept_and_found_by_the_code_in_its_small_print(client, owner, machine):
    client.force_login(owner)
    for _ in range(2):
        printed(client, machine, "62x29")
    document = Document.objects.get()
    reader = pypdf.PdfReader(document.file.open())
    assert document.code in reader.pages[0].extract_text()
    assert reader.metadata.title == f"Machine label {document.number}"
    assert reader.outline[0].title == machine.number
    assert client.get(reverse("shop:check", args=[document.code])).status_code == 200


def test_a_machine_s_number_may_hold_what_no_file_name_does(client, owner, shop):
    machine = factories.MachineFactory(shop=shop, number="../M 1/東")
    client.force_login(owner)
    assert pages(printed(client, machine, "62x29"))
    assert Document.objects.get().file_name.startswith("LB-..-M-1-東-")
