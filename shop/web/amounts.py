"""How amounts of money and quantities are written, the same on the page and in print."""

from babel.numbers import format_currency, format_decimal

LOCALE = "en_GB"


def money_text(amount, currency):
    """An amount as '€1,273.00', the minus sign in front; '1,273.00' where no currency is known."""
    if not currency:
        return format_decimal(amount, format="#,##0.00", locale=LOCALE).replace("-", "−")
    return format_currency(amount, currency, locale=LOCALE).replace("-", "−")


def number_text(number):
    """A quantity or price without needless zeros: 2.500 is '2.5', 1000 is '1,000'."""
    return format_decimal(number, format="#,##0.####", locale=LOCALE).replace("-", "−")


def price_text(price, currency):
    """A unit price with at least two decimals and at most the four it may have."""
    return format_currency(
        price, currency, format="¤#,##0.00##", locale=LOCALE, currency_digits=False
    ).replace("-", "−")
