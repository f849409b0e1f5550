"""Time zones by the names people call them, and what is usual in a country."""

import zoneinfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.people.models import Firm, Shop
from shop.web.regions import COUNTRIES, region_of
from shop.web.zones import UnknownZone, zone_named, zone_names

# CLDR windowsZones, territory 001 (Babel 2.19 carries the table); the city names are tzdata's own.
CALLED = [
    ("Central Time", "America/Chicago"),
    ("central standard time", "America/Chicago"),
    ("Central Daylight Time", "America/Chicago"),
    ("CST", "America/Chicago"),
    ("Eastern Time", "America/New_York"),
    ("Mountain Time", "America/Denver"),
    ("Pacific Standard Time", "America/Los_Angeles"),
    ("W. Europe Standard Time", "Europe/Berlin"),
    ("Chicago", "America/Chicago"),
    ("new york", "America/New_York"),
    ("  europe/zurich ", "Europe/Zurich"),
    ("UTC", "UTC"),
]


@pytest.mark.parametrize(("typed", "meant"), CALLED)
def test_a_zone_is_found_by_what_people_call_it(typed, meant):
    assert zone_named(typed) == meant


@pytest.mark.parametrize("typed", ["", "Middle Earth", "+01:00", "x" * 80])
def test_what_is_no_zone_is_refused_with_what_was_expected(typed):
    with pytest.raises(UnknownZone, match=r"expected one such as America/Chicago"):
        zone_named(typed)


def test_what_could_be_several_names_them():
    with pytest.raises(UnknownZone, match=r"could be .*Porto.*type which"):
        zone_named("por")


@given(st.sampled_from(zone_names()))
def test_every_zone_that_is_offered_is_taken(name):
    assert zone_named(name) in zoneinfo.available_timezones()


# ISO 4217 and common practice in each country; paper as CLDR has it (from memory).
USUAL = [
    ("US", "Letter", "mdy", 7, "in", "USD"),
    ("CA", "Letter", "ymd", 7, "mm", "CAD"),
    ("GB", "A4", "dmy", 1, "mm", "GBP"),
    ("CH", "A4", "dmy", 1, "mm", "CHF"),
    ("", "A4", "dmy", 1, "mm", "EUR"),
]


@pytest.mark.parametrize(("country", "paper", "dates", "week", "unit", "currency"), USUAL)
def test_a_country_brings_its_paper_dates_week_unit_and_currency(
    country, paper, dates, week, unit, currency
):
    usual = region_of(country)
    assert (usual.paper_size, usual.date_form, usual.week_starts_on) == (paper, dates, week)
    assert (usual.length_unit, usual.currency) == (unit, currency)


@pytest.mark.parametrize("model", [Shop, Firm])
def test_what_any_country_brings_is_taken_by_the_record(model):
    for country, _name in COUNTRIES:
        usual = region_of(country)
        record = model(
            name="A",
            address="B",
            country=country,
            paper_size=usual.paper_size,
            date_form=usual.date_form,
            week_starts_on=usual.week_starts_on,
            length_unit=usual.length_unit,
            currency=usual.currency,
        )
        record.clean_fields()
