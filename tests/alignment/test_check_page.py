"""A saved check: each figure can be traced to the readings it came from."""

import html
from decimal import Decimal

import pytest
from django.urls import reverse

from alignment.sweeps.measuring import TypedReading, TypedSweep
from shop.visits.services import correct_visit
from tests.factories import item_of, typed_sweep
from tests.pages import tight


@pytest.fixture
def page(client, owner):
    client.force_login(owner)
    return lambda check: client.get(check.get_absolute_url())


@pytest.fixture
def inch_sweep():
    """Four readings in inches, a sag check on a bar, a lever at 60°."""
    texts = {0: "0.003", 90: "-.002", 180: "0", 270: "4 thou"}
    values = {0: "76.2", 90: "-50.8", 180: "0", 270: "101.6"}
    return TypedSweep(
        surface="bore",
        unit="in",
        readings=tuple(
            TypedReading(float(angle), text, "in", Decimal(values[angle]))
            for angle, text in texts.items()
        ),
        sag_um=Decimal("50.8"),
        sag_typed="-0.002",
        lever_deg=60.0,
        reading_u_um=Decimal("2.54"),
        reading_u_typed=".0001",
    )


def test_readings_stand_as_they_were_typed(page, sweep_of, bore, inch_sweep):
    text = tight(page(sweep_of(bore, sweep=inch_sweep)).text)
    assert tight('data-label="As typed">4 thou</td>') in tight(text)
    assert 'data-label="As typed">-.002<span class="muted">in</span></td>' in text


def test_each_reading_shows_what_it_counts_as_and_what_is_left_over(
    page, sweep_of, bore, inch_sweep
):
    """At 180°: (0 − 50.8 µm sag) · cos 60° = −25.4 µm; at 90° half the sag is off. The closure
    (38.1 − 25.4) − (−38.1 + 38.1) = 12.7 µm leaves a quarter of it, 3.175 µm, at each reading."""
    rows = page(sweep_of(bore, sweep=inch_sweep)).context["sets"][0]["rows"]
    assert [(row["place"], row["counted"], row["residual"]) for row in rows] == [
        ("0°", "0.0381 mm", "+0.0032 mm"),
        ("90°", "-0.0381 mm", "-0.0032 mm"),
        ("180°", "-0.0254 mm", "+0.0032 mm"),
        ("270°", "0.0381 mm", "-0.0032 mm"),
    ]


def test_settings_stand_with_what_was_typed(page, sweep_of, bore, inch_sweep):
    text = tight(page(sweep_of(bore, sweep=inch_sweep)).text)
    assert tight("typed -0.002 in, made on a bar, counted as +0.0508 mm") in tight(text)
    assert "0.00254 mm (typed .0001 in)" in text
    assert "60°" in text


def test_verdict_limits_and_factory_figure_stand_beside_it(page, sweep_of, bore):
    text = tight(html.unescape(page(sweep_of(bore, 3, 0)).text))
    assert "up to 0.01 mm" in text
    assert tight("<dt>Factory's own figure</dt><dd>0.003 mm</dd>") in tight(text)
    assert "within</span>" in text


def test_limits_are_those_of_the_day_it_was_measured(page, sweep_of, bore):
    check = sweep_of(bore, 3, 0)
    bore.upper_um = Decimal(2)
    bore.save()
    assert "up to 0.01 mm" in page(check).text


def test_the_picture_is_an_image_with_its_figures_in_words(client, page, sweep_of, bore):
    check = sweep_of(bore, 3, 0)
    assert "it stands off its datum by 0.0030 mm" in page(check).context["alt"]
    picture = client.get(reverse("alignment:check_picture", args=[check.pk]))
    assert (picture.status_code, picture["Content-Type"]) == (200, "image/svg+xml")


def test_the_picture_as_left_shows_where_it_was_found(page, sweep_of, bore):
    sweep_of(bore, 40, 0)
    alt = page(sweep_of(bore, 3, 0, "as left")).context["alt"]
    assert "as found it stands off its datum by 0.0400 mm" in alt


class TestCorrection:
    @pytest.fixture
    def page(self, client, contractor):
        client.force_login(contractor)
        return lambda check: client.get(check.get_absolute_url())

    @pytest.fixture
    def old(self, sweep_of, bore):
        return sweep_of(bore, 4, 0)

    @pytest.fixture
    def correction(self, old, taken_up, signed, contractor, firm):
        signed(taken_up)
        taken_up.refresh_from_db()
        return correct_visit(taken_up, made_by=contractor, firm=firm, reason="a slip")

    def test_an_open_check_is_simply_swept_again(self, page, old):
        assert "Sweep it again" in page(old).text

    def test_a_signed_check_leads_to_opening_a_correction(self, page, old, taken_up, signed):
        signed(taken_up)
        assert reverse("shop:correct", args=[taken_up.pk]) in page(old).text

    def test_an_open_correction_takes_it(self, page, old, correction, bore):
        way = reverse("alignment:sweep", args=[correction.pk, bore.pk])
        assert f'href="{way}?corrects={old.pk}"' in page(old).text

    def test_both_checks_name_each_other(self, page, old, correction, sweep_of, bore):
        new = sweep_of(bore, 5, 0, visit=correction, corrects=old)
        assert f'Corrects <a href="{old.get_absolute_url()}"' in page(new).text
        assert f'Corrected by<a href="{new.get_absolute_url()}"' in tight(page(old).text)

    def test_a_corrected_check_is_not_corrected_again(self, page, old, correction, sweep_of, bore):
        sweep_of(bore, 5, 0, visit=correction, corrects=old)
        assert "Correct it" not in page(old).text

    def test_a_reader_is_offered_no_correction(self, client, owner, old):
        client.force_login(owner)
        text = tight(client.get(old.get_absolute_url()).text)
        assert "Sweep it again" not in text
        assert "Correct it" not in text


def test_the_page_costs_the_same_however_many_readings(
    client, owner, sweep_of, bore, machine, django_assert_max_num_queries
):
    client.force_login(owner)
    few = sweep_of(bore, sweep=typed_sweep(3, 0, angles=(0, 120, 240)))
    many = sweep_of(
        item_of(machine, "sub-spindle"), sweep=typed_sweep(3, 0, angles=range(0, 360, 10))
    )
    with django_assert_max_num_queries(24) as first:
        client.get(few.get_absolute_url())
    with django_assert_max_num_queries(len(first)):
        client.get(many.get_absolute_url())
