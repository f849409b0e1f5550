"""The firm in one place, with what each part changes on paper."""

import io
from datetime import date
from decimal import Decimal

import pypdf
import pytest
from django.urls import reverse
from django.utils import timezone

from shop.billing.number_series import SERIES, count_on, last_numbers
from shop.visits.models import NumberSeries
from shop.visits.numbering import next_number
from shop.visits.reporting import build_report
from shop.web.wording import day_text
from tests import factories
from tests.pages import tight


@pytest.fixture
def page(client, contractor, firm):
    """Opens the firm's page."""
    client.force_login(contractor)
    return lambda: client.get(reverse("shop:firm", args=[firm.pk]))


@pytest.fixture
def no_mail_server(settings):
    settings.EMAIL_BACKEND = "django.core.mail.backends.console.EmailBackend"


def change(client, firm, part, **given):
    return client.post(reverse("shop:firm_form", args=[firm.pk, part]), given)


PARTS = [
    "Letterhead",
    "People and their rights",
    "Customers",
    "Prices and travel",
    "Tax",
    "Numbering",
    "Payment terms",
    "Texts on papers",
    "Country, paper and units",
    "Indicators",
]


def test_everything_of_a_firm_is_reached_from_one_page(page):
    shown = page().text
    assert [part for part in PARTS if f">{part}</h2>" not in shown] == []
    assert shown.count("<h3>On paper</h3>") >= len(PARTS)


def test_a_price_and_a_tax_show_the_line_they_make(page, firm):
    factories.RateFactory(firm=firm, tax__percent=Decimal("6.5"), tax__name="Sales tax 6.5 %")
    shown = page().text
    assert "Labour, normal, 1 h at €88.00" in shown
    assert tight("Sales tax 6.5 % on €100.00: €6.50") in tight(shown)


def test_letter_paper_and_the_firm_s_own_words_stand_on_the_report(client, contractor, firm, visit):
    client.force_login(contractor)
    region = {"country": "US", "time_zone": "Central Time", "length_unit": "in"}
    paper = {"paper_size": "Letter", "date_form": "mdy", "week_starts_on": "7"}
    assert change(client, firm, "region", **region, **paper).status_code == 302
    change(client, firm, "texts", report_text="We answer for twelve months.")
    visit.firm.refresh_from_db()
    pages = pypdf.PdfReader(io.BytesIO(build_report(visit))).pages
    # ANSI/ASME Y14.1: size A is 8.5 × 11 inches, of 72 points each.
    assert [float(side) for side in pages[0].mediabox[2:]] == [8.5 * 72, 11 * 72]
    assert "We answer for twelve months." in " ".join(one.extract_text() for one in pages)
    firm.refresh_from_db()
    assert (firm.time_zone, firm.length_unit) == ("America/Chicago", "in")


PAPER_DATES = [("dmy", "10 Mar 2025"), ("mdy", "Mar 10, 2025"), ("ymd", "2025-03-10")]


@pytest.mark.parametrize(("form", "written"), PAPER_DATES)
def test_days_on_paper_are_written_as_the_firm_writes_them(firm, visit, form, written):
    firm.date_form = form
    firm.save()
    visit.planned_for = date(2025, 3, 10)
    visit.save()
    visit.firm.refresh_from_db()
    pages = pypdf.PdfReader(io.BytesIO(build_report(visit))).pages
    assert written in pages[0].extract_text()
    assert day_text(date(2025, 3, 10)) == "10 Mar 2025"


def test_a4_is_the_paper_unless_another_is_chosen(visit):
    pages = pypdf.PdfReader(io.BytesIO(build_report(visit))).pages
    # ISO 216: A4 is 210 × 297 mm.
    assert [round(float(side) * 25.4 / 72) for side in pages[0].mediabox[2:]] == [210, 297]


def test_numbers_count_on_from_papers_made_elsewhere(client, contractor, firm, page):
    client.force_login(contractor)
    year = timezone.localdate().year
    given = {"visit": "41", "quote": "1", "statement": "118", "credit_note": "1"}
    client.post(reverse("shop:numbers", args=[firm.pk]), given)
    assert f"next: ST-{year}-0118" in page().text
    assert next_number(firm, "statement", year) == 118
    assert next_number(firm, "visit", year) == 41


def test_a_number_that_was_given_out_is_refused(client, contractor, firm):
    NumberSeries.objects.create(firm=firm, kind="quote", year=timezone.localdate().year, last=7)
    client.force_login(contractor)
    given = {"visit": "1", "quote": "7", "statement": "1", "credit_note": "1"}
    shown = client.post(reverse("shop:numbers", args=[firm.pk]), given).text
    assert "8 is the next one; a number is given out once." in shown


def test_a_series_that_went_on_meanwhile_stays_where_it_is(firm):
    NumberSeries.objects.create(firm=firm, kind="quote", year=2025, last=9)
    count_on(firm, 2025, {"quote": 4})
    assert last_numbers(firm, 2025)["quote"] == 9


def test_the_series_are_those_that_papers_are_numbered_by():
    assert [one.number(2026, 7) for one in SERIES] == [
        "SR-2026-007", "QU-2026-0007", "ST-2026-0007", "CN-2026-0007",
    ]  # fmt: skip


@pytest.mark.usefixtures("no_mail_server")
class TestWithoutAMailServer:
    def test_an_invitation_is_a_link_to_copy_and_a_code_to_scan(self, client, owner, shop):
        client.force_login(owner)
        address = reverse("shop:people", args=[shop.pk])
        assert "This site has no mail server" in client.get(address).text
        given = {"email": "ned@shop.example", "role": "operator"}
        shown = client.post(address, given, follow=True).text
        assert "nothing was mailed to ned@shop.example" in shown
        assert "on its way" not in shown
        invitation = shop.invitations.get()
        link = client.get(reverse("shop:invitation_link", args=[invitation.pk]))
        client.logout()
        opened = client.get(link.context["address"].split("testserver", 1)[-1])
        assert "operator at Alder Screw Works" in opened.text
        assert "<svg" in link.text

    def test_a_link_that_was_used_is_not_shown_again(self, client, owner, shop):
        client.force_login(owner)
        given = {"email": "ned@shop.example", "role": "operator"}
        client.post(reverse("shop:people", args=[shop.pk]), given)
        invitation = shop.invitations.get()
        client.post(reverse("shop:revoke_invitation", args=[invitation.pk]))
        address = reverse("shop:invitation_link", args=[invitation.pk])
        assert client.get(address).status_code == 404

    def test_a_forgotten_password_promises_no_mail(self, client, db):
        assert "This site has no mail server" in client.get(reverse("shop:forgotten")).text
        assert "No mail left this site" in client.get(reverse("shop:forgotten_sent")).text


def test_with_a_mail_server_the_invitation_is_said_to_be_on_its_way(client, owner, shop):
    client.force_login(owner)
    given = {"email": "ned@shop.example", "role": "operator"}
    shown = client.post(reverse("shop:people", args=[shop.pk]), given, follow=True).text
    assert "The mail to ned@shop.example is on its way" in shown
