"""Phone numbers as links that dial (RFC 3966). Free of Django."""

import re

# Country calling codes (ITU-T E.164, from memory) of countries where a national number is dialled
# with a 0 in front at home and without it from abroad (common practice, no source).
TRUNK_ZERO = {
    "AT": "43", "AU": "61", "BE": "32", "CH": "41", "DE": "49", "FI": "358", "FR": "33",
    "GB": "44", "IE": "353", "JP": "81", "KR": "82", "NL": "31", "NZ": "64", "SE": "46",
    "SI": "386", "SK": "421", "TR": "90", "TW": "886", "ZA": "27",
}  # fmt: skip
# Those where a number is dialled in full everywhere.
WHOLE = {
    "CZ": "420", "DK": "45", "ES": "34", "GR": "30", "IT": "39", "LU": "352", "NO": "47",
    "PL": "48", "PT": "351", "SG": "65",
}  # fmt: skip
# The North American plan: ten digits, with or without a 1 in front.
TEN_DIGITS = {"US": "1", "CA": "1"}
CODES = TRUNK_ZERO | WHOLE | TEN_DIGITS


def phone_link(number, country=""):
    """The address that dials a number as somebody typed it; "" for one without a digit.

    country: two letters, where it is dialled as typed; "" where nobody said. What can be told from
    it becomes a global number (RFC 3966, 5.1.4), anything else a local one with the country as its
    `phone-context` (5.1.5), which is left out where the country is not known.
    """
    number = number.replace("(0)", "") if number.strip().startswith(("+", "00")) else number
    digits = re.sub(r"\D", "", re.split(r"(?i)\s*(?:ext|x|ask|,|;|/)", number, maxsplit=1)[0])
    if not digits:
        return ""
    whole = _global(digits, number.strip(), country)
    if whole:
        return f"tel:+{whole}"
    code = CODES.get(country)
    return f"tel:{digits};phone-context=+{code}" if code else f"tel:{digits}"


def _global(digits, typed, country):
    """The digits with the country's own in front, "" where they cannot be told."""
    if typed.startswith("+"):
        return digits
    if digits.startswith("00") and country not in TEN_DIGITS:
        return digits[2:]
    if country in TEN_DIGITS and len(digits.removeprefix("1")) == 10:
        return f"1{digits.removeprefix('1')}"
    if country in TRUNK_ZERO and digits.startswith("0"):
        return TRUNK_ZERO[country] + digits[1:]
    if country in WHOLE and len(digits) >= 8:
        return WHOLE[country] + digits
    return ""
