"""Pages of charges, statements and documents: who may do what, and what they show."""

import csv
import io
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from pypdf import PdfReader

from shop.billing import services
from shop.billing.credit_notes import issue_credit_note
from shop.billing.models import Charge, Payment, Statement, TaxCategory
from shop.paper.models import Sending
from shop.visits.services import issue_report, sign_visit
from tests.factories import (
    FirmFactory,
    MembershipFactory,
    RateFactory,
    UserFactory,
    VisitFactory,
)
from tests.pages import posted as post
from tests.post import posted

pytestmark = pytest.mark.usefixtures("nothing_missing")

NAMES = {"contractor": ("A", "service"), "customer": ("B", "owner")}


@pytest.fixture
def charged(visit, tax, contractor):
    """A signed visit with one line, =HYPERLINK and all."""
    signed = sign_visit(visit, **NAMES)
    services.add_charge(
        signed,
        made_by=contractor,
        text="=HYPERLINK(evil)",
        price=Decimal("100"),
        quantity=Decimal(1),
        tax=tax,
    )
    return signed


@pytest.fixture
def statement(charged, contractor):
    return services.issue_statement(charged, made_by=contractor)


@pytest.fixture
def rival(shop):
    """Another firm's contractor at the same shop."""
    person = UserFactory(username="rival")
    MembershipFactory(user=person, shop=shop, role="contractor", firm=FirmFactory())
    return person


def get(client, user, name, *args):
    client.force_login(user)
    return client.get(reverse(f"shop:{name}", args=args))


@pytest.mark.parametrize(
    ("who", "status"),
    [("owner", 200), ("contractor", 200), ("operator", 404), ("rival", 404), ("stranger", 404)],
)
def test_a_statement_is_shown_to_whom_its_money_concerns(client, request, statement, who, status):
    person = request.getfixturevalue(who)
    assert get(client, person, "statement", statement.pk).status_code == status
    assert get(client, person, "document", statement.document.pk).status_code == status


@pytest.mark.parametrize(
    ("who", "status"),
    [("owner", 403), ("contractor", 200), ("operator", 404), ("rival", 404), ("stranger", 404)],
)
def test_charges_are_entered_by_the_firm_s_contractor(client, request, charged, who, status):
    person = request.getfixturevalue(who)
    assert get(client, person, "charges", charged.pk).status_code == status
    line = charged.charges.get()
    assert post(client, person, "charge", line.pk).status_code == status


@pytest.mark.parametrize(("who", "shown"), [("operator", False), ("owner", True), ("rival", False)])
def test_the_visit_shows_its_statement_to_whom_it_concerns(client, request, statement, who, shown):
    page = get(client, request.getfixturevalue(who), "visit", statement.visit_id)
    assert (statement.number in page.content.decode()) is shown


def test_issuing_leads_to_the_statement(client, contractor, charged):
    response = post(client, contractor, "issue_statement", charged.pk)
    assert response.url == Statement.objects.get().get_absolute_url()


def test_pressing_issue_twice_issues_one_statement(client, contractor, charged):
    entry_id = "0a4a2f0c-8a5b-4e57-9b54-6d4a4d8f9e11"
    for _ in range(2):
        post(client, contractor, "issue_statement", charged.pk, {"entry_id": entry_id})
    assert Statement.objects.count() == 1


def test_a_draft_says_that_it_is_not_issued(client, contractor, charged):
    pdf = get(client, contractor, "statement_draft", charged.pk).content
    assert "DRAFT, not issued" in PdfReader(io.BytesIO(pdf)).pages[0].extract_text()


LINE = {"kind": "fixed", "text": "gauge hire", "quantity": "2", "unit": "pc", "price": "12.50"}


def test_a_line_is_entered_by_hand(client, contractor, charged, tax):
    post(client, contractor, "add_charge", charged.pk, LINE | {"tax": tax.pk})
    assert Charge.objects.get(text="gauge hire").amount.net == Decimal("25.00")


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"quantity": "-2"}, "quantity must be above zero"),
        ({"price": "-1"}, "price is not negative"),
        ({"percent": "5"}, "Only a discount has a percentage"),
        ({"kind": "discount", "percent": "5"}, "either an amount or a percentage"),
        ({"text": ""}, "This field is required"),
    ],
    ids=lambda case: str(case),
)
def test_a_wrong_line_is_refused_and_stays_typed(client, contractor, charged, tax, wrong, said):
    page = post(client, contractor, "add_charge", charged.pk, LINE | {"tax": tax.pk} | wrong)
    assert said in page.content.decode()
    assert charged.charges.count() == 1


def test_a_fixed_price_comes_from_the_price_list(client, contractor, charged, firm, tax):
    rate = RateFactory(firm=firm, kind="fixed", name="call-out", unit="pc", price=90, tax=tax)
    post(client, contractor, "add_fixed", charged.pk, {"rate": rate.pk, "quantity": "1"})
    assert charged.charges.get(text="call-out").price == 90


def test_another_firm_s_price_list_is_not_offered(client, contractor, charged):
    rate = RateFactory(kind="fixed", name="theirs", unit="pc")
    post(client, contractor, "add_fixed", charged.pk, {"rate": rate.pk, "quantity": "1"})
    assert charged.charges.count() == 1


def test_a_payment_is_recorded_by_the_contractor_alone(client, contractor, owner, statement):
    given = {"amount": "20", "paid_on": statement.issued_on.isoformat()}
    assert post(client, owner, "statement", statement.pk, given).status_code == 403
    post(client, contractor, "statement", statement.pk, given)
    assert Payment.objects.get().amount == 20


def test_too_much_money_is_refused_at_its_field(client, contractor, statement):
    given = {"amount": "999", "paid_on": statement.issued_on.isoformat()}
    page = post(client, contractor, "statement", statement.pk, given).content.decode()
    assert "more than the 120.00 EUR outstanding" in page
    assert not Payment.objects.exists()


def test_a_statement_is_taken_back_for_a_reason(client, contractor, statement):
    post(client, contractor, "credit", statement.pk, {"reason": "wrong rate", "what": "all"})
    assert Statement.objects.get(kind="credit note").reason == "wrong rate"


def csv_rows(response):
    return list(csv.reader(io.StringIO(response.content.decode())))


def test_the_bookkeeper_s_lines_have_credit_notes_negative(client, contractor, statement):
    issue_credit_note(statement, made_by=contractor, reason="wrong rate")
    heading, first, back = csv_rows(get(client, contractor, "statement_lines"))
    net = heading.index("net")
    assert (first[net], back[net]) == ("100.00", "-100.00")


def test_no_line_runs_as_a_formula_in_the_bookkeeper_s_spreadsheet(client, contractor, statement):
    heading, line = csv_rows(get(client, contractor, "statement_lines"))
    assert line[heading.index("text")].startswith("'=")


def test_a_rival_gets_none_of_the_lines(client, rival, statement):
    assert len(csv_rows(get(client, rival, "statement_lines"))) == 1


def test_the_list_says_what_is_outstanding(client, owner, statement):
    assert "€120.00" in get(client, owner, "statements").content.decode()


@pytest.mark.parametrize("how_many", [1, 6])
def test_the_list_costs_the_same_however_long_it_is(
    client, contractor, shop, firm, tax, how_many, django_assert_num_queries
):
    for n in range(how_many):
        visit = VisitFactory(shop=shop, firm=firm, contractor=contractor, number=f"v{n}")
        signed = sign_visit(visit, **NAMES)
        services.add_charge(
            signed, made_by=contractor, text="x", price=Decimal(1), quantity=Decimal(1), tax=tax
        )
        services.issue_statement(signed, made_by=contractor)
    client.force_login(contractor)
    with django_assert_num_queries(QUERIES_OF_LIST):
        client.get(reverse("shop:statements"))


QUERIES_OF_LIST = 5


# ---- the firm ----

FIRM = {
    "address": "1 Lane",
    "currency": "CHF",
    "payment_days": "10",
    "parts_markup_percent": "15",
    "normal_day_h": "8.5",
}


def test_the_firm_s_terms_are_set_by_its_contractor(client, contractor, firm):
    client.force_login(contractor)
    client.post(reverse("shop:firm_form", args=[firm.pk, "terms"]), FIRM)
    firm.refresh_from_db()
    assert (firm.currency, firm.payment_days) == ("CHF", 10)


@pytest.mark.parametrize("who", ["owner", "operator", "rival", "stranger"])
def test_a_firm_is_nobody_else_s_business(client, request, firm, who):
    assert get(client, request.getfixturevalue(who), "firm", firm.pk).status_code == 404


@pytest.mark.parametrize(
    ("currency", "said"), [("XYZ", "is not a currency"), ("JPY", "not counted in hundredths")]
)
def test_a_currency_without_hundredths_is_refused(client, contractor, firm, currency, said):
    client.force_login(contractor)
    terms = reverse("shop:firm_form", args=[firm.pk, "terms"])
    page = client.post(terms, FIRM | {"currency": currency})
    assert said in page.content.decode()


def test_a_logo_that_is_not_an_image_is_refused(client, contractor, firm):
    logo = SimpleUploadedFile("logo.png", b"not an image", content_type="image/png")
    client.force_login(contractor)
    letterhead = reverse("shop:firm_form", args=[firm.pk, "letterhead"])
    page = client.post(letterhead, FIRM | {"logo": logo})
    assert "not an image" in page.content.decode()


def test_an_exempt_category_needs_its_reason(client, contractor, firm):
    given = {"name": "exempt", "code": "E", "percent": "0"}
    page = post(client, contractor, "add_tax", firm.pk, given)
    assert "Say why no tax is due" in page.content.decode()
    post(client, contractor, "add_tax", firm.pk, given | {"reason": "training"})
    assert TaxCategory.objects.get().reason == "training"


def test_a_second_rate_of_a_kind_is_refused(client, contractor, firm, tax):
    RateFactory(firm=firm, tax=tax)
    given = {"kind": "normal", "name": "again", "unit": "h", "price": "90", "tax": tax.pk}
    page = post(client, contractor, "add_rate", firm.pk, given)
    assert "already" in page.content.decode()


# ---- documents ----


@pytest.fixture
def report(visit):
    return issue_report(sign_visit(visit, **NAMES))


def test_the_check_page_needs_no_sign_in_and_says_what_was_issued(client, report):
    page = client.get(reverse("shop:check", args=[report.code])).content.decode()
    assert report.number in page


@pytest.mark.parametrize(("change", "said"), [(b"", "Yes."), (b" ", "No.")])
def test_the_check_page_tells_the_issued_file_from_any_other(client, report, change, said):
    file = SimpleUploadedFile("mine.pdf", report.file.read() + change)
    page = client.post(reverse("shop:check", args=[report.code]), {"file": file})
    assert said in page.content.decode()


def test_a_code_nobody_issued_is_said_to_be_none(client, db):
    page = client.get(reverse("shop:check", args=["0000-0000-0000-0000"]))
    assert page.status_code == 404
    assert "No document has this code" in page.content.decode()


def test_the_check_page_of_a_statement_says_that_it_was_taken_back(client, contractor, statement):
    note = issue_credit_note(statement, made_by=contractor, reason="wrong rate")
    page = client.get(reverse("shop:check", args=[statement.document.code])).content.decode()
    assert note.number in page


def test_the_code_and_the_address_stand_on_the_report(report):
    text = "\n".join(page.extract_text() for page in PdfReader(report.file.open()).pages)
    assert report.code in text
    assert f"/check/{report.code}/" in text.replace("\n", "")


def test_a_report_is_mailed_to_the_people_chosen_and_logged(client, contractor, owner, report):
    owner.email = "owner@shop.example"
    owner.save()
    given = {"people": [owner.pk], "other": "boss@shop.example", "message": "As agreed."}
    post(client, contractor, "send", report.pk, given)
    assert [one.to for one in posted()] == [["owner@shop.example"], ["boss@shop.example"]]
    assert posted()[0].attachments[0][1] == report.file.read()
    assert Sending.objects.count() == 2


def test_a_mail_form_sent_twice_mails_once(client, contractor, report):
    given = {"other": "boss@shop.example", "entry_id": "d7a1e1de-1c8e-4a52-9c38-111111111111"}
    for _ in range(2):
        post(client, contractor, "send", report.pk, given)
    assert len(posted()) == 1


def test_the_log_says_of_a_mail_that_it_could_not_be_handed_over(
    client, contractor, report, monkeypatch
):
    def fail(self):
        raise ConnectionRefusedError("no mail server")

    monkeypatch.setattr("django.core.mail.EmailMessage.send", fail)
    post(client, contractor, "send", report.pk, {"other": "boss@shop.example"})
    posted()
    page = get(client, contractor, "send", report.pk).content.decode()
    assert "tried again soon: ConnectionRefusedError: no mail server" in page


def test_sending_to_nobody_is_refused(client, contractor, report):
    page = post(client, contractor, "send", report.pk, {"message": "Hello"})
    assert "Choose at least one person" in page.content.decode()


def test_only_the_contractor_sends(client, owner, report):
    assert get(client, owner, "send", report.pk).status_code == 403
