"""What is usual in a country: paper, currency, unit, the form of dates, the first day of the week.

Currencies, first days and the order of a date come from the Unicode CLDR, which Babel carries.
Paper sizes are CLDR's list of territories that print on US Letter (supplemental measurement data,
from memory); inches are common practice, no source.
"""

from dataclasses import dataclass
from functools import cache

from babel import Locale, UnknownLocaleError
from babel.languages import get_official_languages
from babel.numbers import get_currency_precision, get_territory_currencies

LETTER_COUNTRIES = frozenset(
    ["BZ", "CA", "CL", "CO", "CR", "GT", "MX", "NI", "PA", "PH", "PR", "SV", "US", "VE"]
)
INCH_COUNTRIES = frozenset(["US"])
# In CLDR's list of territories, but no countries: groups, and codes for what is not known.
NO_COUNTRIES = frozenset(
    ["AC", "CP", "CQ", "DG", "EA", "EU", "EZ", "IC", "QO", "TA", "UN", "XA", "XB", "ZZ"]
)


@dataclass(frozen=True)
class Region:
    """What a country uses: `currency` by its ISO 4217 code, `week_starts_on` 1 for Monday."""

    paper_size: str
    date_form: str
    week_starts_on: int
    length_unit: str
    currency: str


def _countries():
    names = Locale("en").territories
    return sorted(
        ((code, name) for code, name in names.items() if _is_country(code)), key=lambda one: one[1]
    )


def _is_country(code):
    return len(code) == 2 and code.isalpha() and code not in NO_COUNTRIES


COUNTRIES = _countries()


@cache
def region_of(country):
    """The `Region` of a country by its two letters; for none, A4, millimetres and euro."""
    locale = _locale(country)
    first_day = locale.first_week_day + 1
    return Region(
        paper_size="Letter" if country in LETTER_COUNTRIES else "A4",
        date_form=_date_form(locale),
        week_starts_on=first_day if first_day in (1, 6, 7) else 1,
        length_unit="in" if country in INCH_COUNTRIES else "mm",
        currency=_currency(country),
    )


def _locale(country):
    """The locale of the country's first language that CLDR knows there, else British English."""
    languages = get_official_languages(country, de_facto=True) if country else ()
    for language in languages:
        try:
            return Locale.parse(f"{language}_{country}")
        except (UnknownLocaleError, ValueError):
            continue
    return Locale("en", "GB")


def _currency(country):
    """The country's present currency, if it is counted in hundredths as amounts here are."""
    for code in get_territory_currencies(country) if country else ():
        if get_currency_precision(code) == 2:
            return code
    return "EUR"


def _date_form(locale):
    """Which part of a short date comes first."""
    pattern = locale.date_formats["short"].pattern
    return {"M": "mdy", "y": "ymd"}.get(next(one for one in pattern if one in "Mdy"), "dmy")
