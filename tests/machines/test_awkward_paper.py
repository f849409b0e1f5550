"""Documents of awkward visits, each entered and asked for through its page."""

import re
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from pypdf import PdfReader

from machines.visit_work.services import add_machine_to_visit
from shop.billing.models import Charge, Statement
from shop.paper.models import Document
from shop.visits.models import NumberSeries
from shop.visits.services import sign_visit

pytestmark = pytest.mark.usefixtures("nothing_missing")

NAMES = {"contractor": ("A", "service"), "customer": ("B", "owner")}
SIGNED = {
    "contractor_name": "Ada Fitter",
    "contractor_role": "Service contractor",
    "customer_name": "Bo Owner",
    "customer_role": "Works manager",
    "read": "on",
}


@pytest.fixture
def at_work(client, contractor):
    client.force_login(contractor)
    return client


@pytest.fixture
def visited(visit, machine):
    return add_machine_to_visit(visit, machine)


def sign(client, visit, **more):
    client.post(reverse("shop:sign", args=[visit.pk]), SIGNED | more)
    return PdfReader(Document.objects.get(visit=visit, kind="service report").file.open())


def text_of(pdf):
    return " ".join(" ".join(page.extract_text() for page in pdf.pages).split())


def embedded(pdf):
    """Whether every typeface the pages name is inside the file."""
    fonts = [
        font.get_object()
        for page in pdf.pages
        for font in page["/Resources"].get("/Font", {}).values()
    ]
    return fonts and all("/FontFile2" in font["/FontDescriptor"] for font in fonts)


# ---- a long finding ----


@pytest.mark.parametrize(
    "finding",
    [" ".join(f"word{n:04d}" for n in range(667)), "x" * 6000, "Zeile.\n" * 850],
    ids=["words", "one word", "short lines"],
)
def test_a_finding_of_six_thousand_characters_is_printed_whole(at_work, visited, finding):
    at_work.post(reverse("machines:findings", args=[visited.pk]), {"findings": finding})
    pdf = sign(at_work, visited.visit)
    assert len(pdf.pages) > 1
    printed = text_of(pdf)
    for part in ("word", "x" * 20, "Zeile."):
        assert len(re.findall(re.escape(part), printed)) >= finding.count(part)
    assert re.findall(r"word\d{4}", printed) == re.findall(r"word\d{4}", finding)


# ---- names in any script ----


@pytest.mark.parametrize(
    "name",
    [
        "Žaneta Łukasiewicz-Ørsted",
        "Αθηνά Παπαδοπούλου",
        "北町 太郎",
        "김 서연",
        "משה כהן",
        "& <b>Söhne</b>",
    ],
)
def test_a_customer_of_any_script_signs_and_reads_back(at_work, visited, name):
    """Read as pypdf does, which puts right-to-left words back into the order they are spoken."""
    pdf = sign(at_work, visited.visit, customer_name=name)
    assert name in text_of(pdf)
    assert embedded(pdf)


def test_arabic_letters_are_printed_joined_and_from_the_right(at_work, visited):
    """Initial, medial and final forms of Unicode's Arabic Presentation Forms-B."""
    pdf = sign(at_work, visited.visit, customer_name="محمد")
    assert "\ufee3\ufea4\ufee4\ufeaa" in text_of(pdf)
    assert embedded(pdf)


# ---- statements ----


@pytest.fixture
def signed(visit):
    return sign_visit(visit, **NAMES)


def issue(client, visit):
    return client.post(reverse("shop:issue_statement", args=[visit.pk]), follow=True)


def test_a_statement_without_a_line_is_refused_on_the_page_and_takes_no_number(
    at_work, signed, tax
):
    page = issue(at_work, signed)
    assert "nothing to charge yet" in page.content.decode()
    assert not Statement.objects.exists()
    assert not NumberSeries.objects.filter(kind="statement").exists()


def test_a_statement_of_four_hundred_lines_carries_its_sum_from_page_to_page(
    at_work, signed, tax, contractor
):
    Charge.objects.bulk_create(
        Charge(
            visit=signed,
            made_by=contractor,
            text=f"screw no. {n:03d}",
            price=Decimal("1.05"),
            tax=tax,
        )
        for n in range(400)
    )
    assert issue(at_work, signed).status_code == 200
    pages = PdfReader(Document.objects.get(kind="statement").file.open()).pages
    texts = [" ".join(page.extract_text().split()) for page in pages]
    lines = 0
    for page in texts:
        lines += len(re.findall(r"screw no\. \d{3}", page))
        so_far = f"Carried over €{lines * Decimal('1.05'):.2f}"
        assert "What Quantity Price Tax Net" in page
        assert so_far in page or page is texts[-1]
    assert lines == 400
    assert "Sum of the lines €420.00" in texts[-1]
    pdf = PdfReader(Document.objects.get(kind="statement").file.open())
    places = {one.title: pdf.get_destination_page_number(one) for one in pdf.outline}
    assert places == {"Lines": 0, "Total": len(pages) - 1}


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("-2", "quantity must be above zero"),
        ("0", "quantity must be above zero"),
        ("two", "number"),
    ],
)
def test_negative_hours_are_refused_at_their_field(at_work, signed, tax, typed, said):
    line = {"kind": "labour", "text": "labour", "unit": "h", "price": "88", "tax": tax.pk}
    page = at_work.post(
        reverse("shop:add_charge", args=[signed.pk]), line | {"quantity": typed}
    ).content.decode()
    assert said in page
    assert f'value="{typed}"' in page
    assert not signed.charges.exists()


def test_a_logo_that_went_bad_on_the_disk_withholds_no_statement(at_work, signed, tax, firm):
    firm.logo.save("logo.png", SimpleUploadedFile("logo.png", b"not an image"))
    signed.refresh_from_db()
    line = {"kind": "fixed", "text": "gauge hire", "unit": "pc", "price": "5", "quantity": "1"}
    at_work.post(reverse("shop:add_charge", args=[signed.pk]), line | {"tax": tax.pk})
    issue(at_work, signed)
    assert not PdfReader(Document.objects.get(kind="statement").file.open()).pages[0].images
