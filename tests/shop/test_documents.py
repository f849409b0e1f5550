"""The document frame: read back as a reader would, with pypdf."""

import re
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from io import BytesIO
from itertools import pairwise

import pytest
import segno
from django.core.files.base import ContentFile
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from pypdf import PdfReader
from reportlab.graphics.shapes import Rect

from shop.paper.documents import (
    Carried,
    Column,
    DocumentMeta,
    Evidence,
    Letterhead,
    Section,
    Signature,
    build_document,
    caution_box,
    check_block,
    data_table,
    evidence_list,
    figure,
    heading,
    key_values,
    paragraph,
    photo_grid,
    qr_code,
    signature_block,
    verdict,
)
from shop.paper.documents.flowables import SignatureStrokes
from shop.paper.documents.letterhead import LOGO_HEIGHT, LOGO_WIDTH, logo_picture
from shop.paper.drawing import Pen, shapes
from shop.paper.palettes import PRINT

FIRM = Letterhead("Alder Realignment", ["Unit 4, Mill Lane"], ["desk@alder.example"])
META = DocumentMeta(
    FIRM,
    "Service report",
    "2025-014",
    "12 March 2025",
    about=[("Shop", "Birch Turning"), ("Machine", "Lathe 3")],
)
LONG = " ".join(f"word{n:04d}" for n in range(667))  # 6,002 characters


def built(*flowables, meta=META, title="Findings"):
    return PdfReader(BytesIO(build_document(meta, [Section(title, flowables)])))


def pages(document):
    """The text of each page, runs of white space taken as one space."""
    return [" ".join(page.extract_text().split()) for page in document.pages]


def text(document):
    return " ".join(pages(document))


def image(mode, size, kind="PNG"):
    file = BytesIO()
    Image.new(mode, size).save(file, kind)
    return file.getvalue()


def embedded_fonts(document):
    """(name, embedded) of every font the pages name."""
    found = set()
    for page in document.pages:
        for font in page["/Resources"]["/Font"].values():
            descriptor = font.get_object().get("/FontDescriptor", {})
            found.add((font["/BaseFont"].split("+")[-1], "/FontFile2" in descriptor))
    return found


def test_the_first_page_carries_firm_title_number_date_shop_and_machine():
    first = pages(built(paragraph("Nothing moved.")))[0]
    for expected in (
        "Alder Realignment",
        "Unit 4, Mill Lane",
        "desk@alder.example",
        "Service report",
        "2025-014",
        "12 March 2025",
        "Shop Birch Turning",
        "Machine Lathe 3",
        "Nothing moved.",
    ):
        assert expected in first


def test_every_page_says_which_of_how_many_it_is():
    document = built(*[paragraph(LONG) for _ in range(3)])
    count = len(document.pages)
    assert count > 3
    for number, page in enumerate(pages(document), start=1):
        assert f"2025-014 · page {number} of {count}" in page


def test_later_pages_repeat_firm_title_and_number_at_the_top():
    for page in pages(built(*[paragraph(LONG)] * 2))[1:]:
        assert page.startswith("Service report 2025-014 Alder Realignment")


def test_the_file_names_itself_its_author_and_its_language():
    document = built(paragraph("x"), meta=replace(META, lang="de", subject="Lathe 3"))
    assert document.metadata.title == "Service report 2025-014"
    assert document.metadata.author == "Alder Realignment"
    assert document.metadata.subject == "Lathe 3"
    root = document.trailer["/Root"]
    assert root["/Lang"] == "de"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"] == True  # noqa: E712 (a PDF boolean)


def test_the_time_of_creation_is_the_one_given():
    moment = datetime(2025, 3, 12, 16, 20, 5, tzinfo=UTC)
    document = built(paragraph("x"), meta=replace(META, stamped_at=moment))
    assert document.metadata.creation_date == moment


def test_sections_and_their_parts_form_the_outline_and_lead_to_their_pages():
    document = PdfReader(
        BytesIO(
            build_document(
                META,
                [
                    Section("First", [paragraph(LONG), paragraph(LONG)]),
                    Section("Second", [heading("Part", level=2), paragraph("x")]),
                ],
            )
        )
    )
    first, second, [part] = document.outline
    assert [entry.title for entry in (first, second, part)] == ["First", "Second", "Part"]
    at = document.get_destination_page_number
    assert at(first) == 0
    assert at(second) == at(part) == len(document.pages) - 1


def test_a_document_that_begins_with_a_part_still_has_an_outline():
    document = PdfReader(BytesIO(build_document(META, [Section("", [heading("Part", level=2)])])))
    assert [entry.title for entry in document.outline] == ["Part"]


def test_the_same_input_gives_the_same_bytes():
    def document(words):
        return build_document(META, [Section("Findings", [paragraph(words), verdict("within")])])

    assert document("moved") == document("moved")
    assert document("moved") != document("did not move")


def test_documents_written_at_the_same_time_do_not_mix():
    names = [f"Łódź {n} Ж" for n in range(6)]

    def document(name):
        return build_document(META, [Section("Findings", [paragraph(name)])])

    with ThreadPoolExecutor(6) as pool:
        assert list(pool.map(document, names)) == [document(name) for name in names]


def test_every_font_is_embedded():
    drawing = Pen(100, 50, PRINT)
    drawing.text(5, 5, "figure")
    document = built(
        paragraph("Zoë Αθήνα Київ"),
        data_table(["a"], [["b"]]),
        figure(drawing.drawing, "caption"),
        caution_box(["Lock out."]),
        signature_block([Signature("contractor", "A", "today", [[(0, 0), (1, 1)]])]),
        check_block("https://example.org/c/1", "ab12"),
        meta=replace(META, corrects="report 1", firm=replace(FIRM, logo=image("RGB", (9, 9)))),
    )
    fonts = embedded_fonts(document)
    assert len(fonts) == 2
    assert all(embedded for _, embedded in fonts)


def test_what_people_typed_is_printed_literally():
    typed = "<b>bold</b> & <br/> 5 < 6 &amp; <font size=40>"
    document = built(paragraph(typed), data_table([typed], [[typed]]), key_values([(typed, typed)]))
    assert text(document).count(typed) == 5


def test_line_breaks_are_kept():
    lines = built(paragraph("first\nsecond\r\n\r\nthird")).pages[0].extract_text().splitlines()
    start = lines.index("first")
    assert [line for line in lines[start : start + 4] if line.strip()] == [
        "first",
        "second",
        "third",
    ]


@pytest.mark.parametrize("name", ["Łódź Sjögren Nguyễn", "Αθήνα Παπαδόπουλος", "Київ Жуков", "Հայ"])
def test_a_name_in_latin_greek_cyrillic_or_armenian_reads_back(name):
    document = built(
        paragraph(name), meta=replace(META, firm=replace(FIRM, name=name), number=name)
    )
    assert text(document).count(name) == 4  # letterhead, number, footer, story


@pytest.mark.parametrize(
    "name",
    [
        "東京の工場",
        "上海",
        "서울",
        "משה כהן",
        "محمد علي",
        "नमस्ते",
        "🛠️",
        "a\x00b\x1f",
        "\ud800",
        "𝔸𠀀",
        "\u200f",
    ],
)
def test_no_name_in_any_script_stops_a_document(name):
    firm = Letterhead(name, [name], [name])
    meta = DocumentMeta(firm, name, name, name, [(name, name)], corrects=name, draft=True)
    document = built(paragraph(name), data_table([name], [[name]]), title=name, meta=meta)
    assert len(document.pages) == 1


@settings(max_examples=30, deadline=None)
@given(st.text(max_size=300))
def test_no_text_stops_a_document(anything):
    assert built(paragraph(anything), key_values([(anything, anything)]), title=anything[:80]).pages


def test_a_right_to_left_paragraph_begins_at_the_right_edge():
    def first_x(words):
        places = []
        page = built(paragraph(words), title="").pages[0]
        page.extract_text(visitor_text=lambda t, cm, tm, f, s: places.append((t, cm[4] + tm[4])))
        return next(x for t, x in places if t.strip() in (words, words[::-1]))

    assert first_x("משה") > 400 > first_x("moved")


def test_a_finding_of_six_thousand_characters_goes_over_pages_and_loses_nothing():
    document = built(*[paragraph(LONG)] * 2)
    assert len(document.pages) > 1
    assert re.findall(r"word\d{4}", text(document)) == 2 * LONG.split()


@pytest.mark.parametrize(
    "block",
    [
        lambda words: data_table(["Finding", "Where"], [[words, "spindle"]]),
        lambda words: key_values([("Finding", words)]),
        lambda words: caution_box([words]),
        lambda words: evidence_list([Evidence("1", words)]),
    ],
    ids=["table", "key and value", "caution", "evidence"],
)
def test_a_long_text_inside_a_block_is_split_over_pages_too(block):
    words = f"{LONG} {LONG}"
    assert re.findall(r"word\d{4}", text(built(block(words)))) == words.split()


def test_a_word_that_never_ends_is_broken():
    assert text(built(paragraph("x" * 6000))).count("x") >= 6000


def test_a_statement_of_four_hundred_lines_repeats_its_head_and_keeps_its_sum_with_a_line():
    rows = [[f"line-{n:03d}", f"{n}.00"] for n in range(400)]
    table = data_table(
        [Column("Item", 3), Column("Amount", 1, "right")], [*rows, ["Sum", "79,800.00"]], totals=1
    )
    printed = pages(built(table))
    assert re.findall(r"line-\d{3}", " ".join(printed)) == [row[0] for row in rows]
    assert [page.count("Item Amount") for page in printed] == [1] * len(printed)
    assert "line-399 399.00 Sum 79,800.00" in printed[-1]


@pytest.mark.parametrize("lines", range(19, 35, 3))
@pytest.mark.parametrize("block", ["table", "figure", "paragraph"])
def test_a_heading_never_stands_alone_at_the_end_of_a_page(lines, block):
    following = {
        "table": data_table(["Head"], [["first-row"], ["second"], ["third"]]),
        "figure": figure(Pen(200, 150, PRINT).drawing, "first-row"),
        "paragraph": paragraph("first-row " + LONG[:900]),
    }[block]
    filler = [paragraph(f"filler {n}") for n in range(lines)]
    document = built(*filler, heading("Alone?", 1), heading("Below", 2), following)
    [page] = [page for page in pages(document) if "Alone?" in page]
    assert "Below" in page
    assert "first-row" in page


def test_a_figure_taller_than_a_page_is_made_to_fit():
    assert len(built(figure(Pen(360, 3000, PRINT).drawing, "tall")).pages) <= 2


def test_more_photos_than_a_page_holds_go_on_over_pages():
    photos = []
    for n in range(13):
        file = BytesIO()
        Image.new("RGB", (300, 300), (20 * n, 0, 0)).save(file, "JPEG")
        photos.append((ContentFile(file.getvalue()), f"photo no. {n}"))
    document = built(photo_grid(photos))
    assert sum(len(page.images) for page in document.pages) == 13
    assert re.findall(r"photo no. (\d+)", text(document)) == [str(n) for n in range(13)]


def test_figures_stay_vectors():
    pen = Pen(100, 50, PRINT)
    pen.circle(50, 25, 20)
    page = built(figure(pen.drawing, "caption")).pages[0]
    assert not page.images
    assert "caption" in page.extract_text()


def test_numbers_stand_right_aligned_in_figures_of_one_width():
    ends = []

    def visit(words, cm, tm, font, size):
        if re.fullmatch(r"1+", words.strip()):
            ends.append(
                round(cm[4] + tm[4] + 0.572265625 * 8.6 * len(words.strip().replace(".", "")), 1)
            )

    table = data_table([Column("Item"), Column("No.", 1, "right")], [["a", "11"], ["b", "1111"]])
    built(table).pages[0].extract_text(visitor_text=visit)
    assert len(ends) == 2
    assert ends[0] == pytest.approx(ends[1], abs=0.2)


@pytest.mark.parametrize("word", ["within", "outside", "not proven"])
def test_a_verdict_cell_prints_its_word_unbroken(word):
    columns = [Column("Item", 9), Column("Verdict", 0.1)]
    assert f"Verdict item {word}" in text(built(data_table(columns, [["item", verdict(word)]])))


def test_a_table_without_rows_prints_its_head():
    assert "Item Amount" in text(built(data_table(["Item", "Amount"], [], zebra=True)))


def test_a_row_with_a_cell_too_many_is_refused():
    with pytest.raises(ValueError, match="2 cells where the table has 1"):
        data_table(["Item"], [["a", "b"]])


def test_a_draft_says_so_on_every_page_and_a_signed_document_nowhere():
    draft = pages(built(*[paragraph(LONG)] * 2, meta=replace(META, draft=True)))
    assert all(page.count("DRAFT, not signed") == 2 for page in draft)
    assert "DRAFT" not in text(built(paragraph("x")))


def test_a_correction_names_what_it_corrects():
    document = built(paragraph("x"), meta=replace(META, corrects="report 2025-009"))
    assert "Corrects report 2025-009. This document takes its place." in text(document)


def test_cautions_are_printed_under_their_word():
    assert "Caution Lock out and discharge." in text(
        built(caution_box(["Lock out and discharge."]))
    )


def test_evidence_is_listed_with_its_reference_and_none_is_said_to_be_none():
    assert "Sweep 12 eight readings" in text(
        built(evidence_list([Evidence("Sweep 12", "eight readings")]))
    )
    assert "No evidence recorded." in text(built(evidence_list([])))


def test_signatures_show_name_role_time_and_who_has_not_signed():
    document = built(
        signature_block(
            [
                Signature("contractor", "Ana Petrović", "11 March 2025, 16:20", [[(0, 0), (5, 9)]]),
                Signature("customer", "Jörg Weiß"),
                Signature("owner"),
            ]
        )
    )
    assert "Ana Petrović contractor, signed 11 March 2025, 16:20" in text(document)
    assert "Jörg Weiß customer, not signed" in text(document)
    assert "owner, not signed" in text(document)


def test_who_signed_without_a_line_signed_with_a_password():
    told = signature_block(
        [
            Signature("service", "Ana Petrović", "11 March 2025"),
            Signature("owner", "Jörg Weiß", "11 March 2025", typed_by="Ana Petrović"),
        ]
    )
    drawn = signature_block([Signature("service", "A", "now", [[(0, 0), (5, 9)]])])
    without, with_a_line = (one._content[0].wrap(480, 700)[1] for one in (told, drawn))
    assert without < with_a_line - 20
    said = text(built(told))
    assert "Signed with password by Ana Petrović" in said
    assert "Agreed by Jörg Weiß, signed with password by Ana Petrović" in said


def test_a_code_never_stands_alone_on_a_page():
    block = check_block("https://example.org/c/1", "ab12")
    for lines in range(50, 66):
        rest = [paragraph("one line of text") for _ in range(lines)]
        pages = [page.extract_text() for page in built(*rest, block).pages]
        (page,) = (page for page in pages if "ab12" in page)
        assert "one line of text" in page


@settings(max_examples=50)
@given(st.lists(st.lists(st.tuples(*[st.floats(-1e5, 1e5)] * 2), max_size=6), max_size=4))
def test_a_drawn_signature_stays_in_its_box_and_the_right_way_up(strokes):
    placed = SignatureStrokes(strokes, 200, 40).placed()
    points = [point for stroke in placed for point in stroke]
    assert len(points) == sum(map(len, strokes))
    assert all(0 <= x <= 200.001 and 0 <= y <= 40.001 for x, y in points)


def test_a_stroke_drawn_downwards_on_a_screen_goes_down_on_paper():
    [[start, end]] = SignatureStrokes([[(0, 0), (0, 10)]], 200, 40).placed()
    assert start[1] > end[1]


def test_a_signature_of_dots_alone_prints():
    assert built(signature_block([Signature("owner", "A", "now", [[(5, 5)], []])])).pages


@pytest.mark.parametrize(("mode", "kind"), [("RGBA", "PNG"), ("P", "GIF"), ("CMYK", "JPEG")])
def test_a_logo_of_any_common_kind_is_printed_within_its_room(mode, kind):
    logo = image(mode, (1200, 300), kind)
    picture = logo_picture(logo)
    assert picture.drawWidth <= LOGO_WIDTH
    assert picture.drawHeight <= LOGO_HEIGHT
    assert picture.drawWidth / picture.drawHeight == pytest.approx(4, rel=0.02)
    assert len(
        built(paragraph("x"), meta=replace(META, firm=replace(FIRM, logo=logo))).pages[0].images
    )


@pytest.mark.parametrize("logo", [b"", b"not an image", image("RGB", (50, 50))[:60], b"<svg/>"])
def test_a_logo_that_is_not_an_image_is_left_out_and_the_document_still_printed(logo):
    document = built(paragraph("x"), meta=replace(META, firm=replace(FIRM, logo=logo)))
    assert not document.pages[0].images


def test_a_document_without_sections_is_one_page():
    assert len(PdfReader(BytesIO(build_document(META, []))).pages) == 1


def test_the_check_address_is_printed_beside_its_code():
    document = built(check_block("https://example.org/check/2025-014", "7f3a-19c2"))
    assert "https://example.org/check/2025-014 Code 7f3a-19c2" in text(document)


def test_the_printed_code_has_every_dark_module_and_four_modules_of_quiet():
    """Quiet zone of four modules: ISO/IEC 18004 (from memory). Modules against segno's matrix."""
    words = "https://example.org/check/2025-014"
    matrix = segno.make(words, error="m").matrix
    side = len(matrix) + 8
    module = 100 / side
    bars = [bar for bar in shapes(qr_code(words, 100)) if isinstance(bar, Rect)]
    dark = sum(bar.width * bar.height for bar in bars) / module**2
    assert dark == pytest.approx(sum(map(sum, matrix)))
    assert min(bar.x for bar in bars) == pytest.approx(4 * module)
    assert max(bar.y + bar.height for bar in bars) == pytest.approx(100 - 4 * module)


def carried_table(amounts, words="{}"):
    """A table of amounts that carries its sum from page to page."""
    rows = [[f"line-{n:03d}", f"{amount}"] for n, amount in enumerate(amounts)]
    columns = [Column("Item", 3), Column("Amount", 1, "right")]
    return data_table(columns, rows, carried=Carried(amounts, words.format))


def test_each_page_ends_with_the_sum_so_far_and_the_next_begins_with_it():
    amounts = [Decimal(f"{n}.05") for n in range(400)]
    printed = pages(built(carried_table(amounts)))
    for page, later in pairwise(printed):
        lines = int(re.findall(r"line-(\d{3})", page)[-1]) + 1
        so_far = str(sum(amounts[:lines]))
        assert f"Carried over {so_far}" in page
        assert f"Brought forward {so_far} Item Amount" in later
    assert "Carried over" not in printed[-1]


@pytest.mark.parametrize("rows", range(20, 40))
def test_what_follows_a_table_never_stands_on_a_page_without_its_last_rows(rows):
    amounts = [Decimal(1)] * rows
    sums = data_table(["Sums", ""], [["net", "1"], ["tax", "2"], ["total", "3"]], totals=1)
    table = data_table(
        ["Item", "Amount"],
        [[f"line-{n:03d}", "1"] for n in range(rows)],
        carried=Carried(amounts, str, followed_by=sums),
    )
    [page] = [page for page in pages(built(table, sums)) if "Sums" in page]
    assert f"line-{rows - 1:03d}" in page


def test_a_table_that_fits_its_page_carries_nothing():
    assert "Carried" not in text(built(carried_table([Decimal(1)] * 5)))


def test_a_row_split_over_two_pages_is_counted_once():
    amounts = [Decimal(3), Decimal(4), Decimal(5)]
    table = data_table(
        ["Item", "Amount"],
        [["first", "3"], [LONG, "4"], ["last", "5"]],
        carried=Carried(amounts, str),
    )
    assert re.findall(r"Carried over (\d+)", text(built(table))) == ["3", "7", "7"]
