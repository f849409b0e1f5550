"""Lengths as people type them, exact both ways.

Every length is kept as micrometres in a ``Decimal`` with four places, because one micro-inch is
exactly 0.0254 µm (1 in = 25.4 mm exactly). Nothing here is rounded on the way in: what cannot be
held exactly is refused, and so is what can be read in two ways.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal, localcontext

UNITS = ("in", "mm", "um")
UNIT_SYMBOLS = {"in": "in", "mm": "mm", "um": "µm"}
UM_PER_UNIT = {"in": Decimal(25400), "mm": Decimal(1000), "um": Decimal(1)}
# What a bare number may count in beside a box: a unit, a part of one, or a dial's divisions.
DIVISIONS = "div"
COUNTS = {"tenths": "tenths", "thou": "thou", **UNIT_SYMBOLS, DIVISIONS: DIVISIONS}

# The finest step that is kept: one micro-inch needs four places.
STEP_UM = Decimal("0.0001")
# No machine tool of this kind has a length near this; a slip of the thumb does.
LONGEST_UM = Decimal(100_000_000)  # 100 m
LONGEST_TEXT = 40  # characters

# Places shown for a computed length: about a quarter of a micrometre in each unit.
USUAL_PLACES = {"in": 5, "mm": 4, "um": 1}

# Greek mu and the micro sign are two characters that look alike; text is case-folded before it is
# looked up here, which turns the micro sign into the Greek letter.
_INCH = Decimal(25400)
_NAMES = {
    "in": _INCH, "inch": _INCH, "inches": _INCH, '"': _INCH,
    "thou": _INCH / 1000, "thous": _INCH / 1000,
    "tenth": _INCH / 10_000, "tenths": _INCH / 10_000,
    "μin": _INCH / 1_000_000, "uin": _INCH / 1_000_000,
    "microinch": _INCH / 1_000_000, "microinches": _INCH / 1_000_000,
    "mm": Decimal(1000), "millimetre": Decimal(1000), "millimetres": Decimal(1000),
    "millimeter": Decimal(1000), "millimeters": Decimal(1000),
    "μm": Decimal(1), "um": Decimal(1), "micron": Decimal(1), "microns": Decimal(1),
    "micrometre": Decimal(1), "micrometres": Decimal(1),
    "μ": Decimal(1), "mic": Decimal(1), "mics": Decimal(1),
}  # fmt: skip
_METRIC_UNIT = {Decimal(1000): "mm", Decimal(1): "um"}
# Of a millimetre, as a metric dial is marked; what is kept of it says so.
_HUNDREDTH = "of a mm"
_HUNDREDTHS = re.compile(r"(hundredths?)(?:\s*(?:of\s+a\s+)?mm)?")
_DIVISION = re.compile(r"(?:div|divs|division|divisions)(?:\s*of\s+(?:a\s+)?(.+))?")

_MINUS_SIGNS = str.maketrans(dict.fromkeys("\u2212\u2010\u2011\u2013\ufe63\uff0d", "-"))
# Phones turn a straight inch mark into a curly one; two primes or apostrophes mean the same.
_INCH_MARKS = re.compile("[\u201d\u201c\u2033]|''|\u2032\u2032|\u2019\u2019")
# A sign, a number or a fraction with or without a whole number before it, a sign, a unit.
_SIGNED_NUMBER = re.compile(
    r"([+-]?)\s*([0-9.,]+(?:(?:\s+[0-9]+)?\s*/\s*[0-9]+)?)\s*([+-]?)\s*(.*)", re.DOTALL
)
_FRACTION = re.compile(r"(?:([0-9]+)\s+)?([0-9]+)\s*/\s*([0-9]+)")
_EXPONENT = re.compile(r"[0-9.,]\s*e\s*[+-]?\s*[0-9]")
_NOT_FINITE = re.compile(r"[+-]?\s*(nan|inf|infinity|∞)")
_LOOKS_GROUPED = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")
_EXPECTED = "Expected a length such as 0.0005 in, 5 tenths, 0.012 mm or 12 µm."


@dataclass(frozen=True)
class TypedLength:
    """A length somebody typed: its exact micrometres and the unit to show it in again.

    ``unit`` is "in", "mm" or "um"; thou and tenths are shown in inches.
    """

    value_um: Decimal
    unit: str
    typed: str


def parse_length(text: str, default_unit: str, *, longest_um: Decimal = LONGEST_UM) -> Decimal:
    """The micrometres in ``text``, exact to four places.

    ``default_unit`` is what is shown beside the box, "in", "mm", "um", or one of the other
    ``COUNTS``; a bare number takes it. ``5 tenths`` is always 0.0005 in and ``1/2 thou`` 0.0005 in,
    whatever the box shows; a sign may stand behind, as dials and people write ``3-``.
    Raises ValueError, with a sentence for the person at the box, for anything else than one
    number with at most one unit, for ``1,234`` and other entries that can be read in two ways,
    for digits finer than 0.0001 µm, and for lengths beyond ``longest_um``.
    """
    return read_length(text, default_unit, longest_um=longest_um).value_um


def read_length(
    text: str,
    default_unit: str,
    *,
    longest_um: Decimal = LONGEST_UM,
    division: TypedLength | None = None,
) -> TypedLength:
    """As ``parse_length``, with the unit that was meant and the text as it was typed.

    division: what one division of the dial is, for who counts in them. A number that counts in
    parts of a unit is kept with their name, so that it reads the same wherever it stands.
    """
    _known_count(default_unit)
    if not isinstance(text, str):
        raise ValueError(f"A length is read from what was typed, not from {text!r}.")
    cleaned = _INCH_MARKS.sub('"', text.translate(_MINUS_SIGNS)).strip().casefold()
    _refuse_by_looks(text, cleaned)
    sign, digits, name = _parts(text, cleaned)
    said = _said(name, default_unit, division)
    um_per, unit = _unit_meant(said or name, text, default_unit, division)
    if "/" in digits and not name:
        _refuse_bare_fraction(text, default_unit)
    value = _exact(_number(digits, text), um_per, text, longest_um)
    kept = _named(text, cleaned, name, said)
    return TypedLength(-value if sign == "-" and value else value, unit, kept)


def in_other_unit(text: str, count: str) -> str:
    """The number in ``text``, which can be read, with the name of another of the ``COUNTS``."""
    cleaned = _INCH_MARKS.sub('"', text.translate(_MINUS_SIGNS)).strip().casefold()
    sign, digits, _ = _parts(text, cleaned)
    return f"{sign}{digits} {COUNTS[count]}"


def _parts(text: str, cleaned: str) -> tuple[str, str, str]:
    """(sign, number, unit) of what was typed; a sign may stand before, after, or last of all."""
    before, digits, after, name = _SIGNED_NUMBER.fullmatch(cleaned).groups()
    if name and name[-1] in "+-":
        after, name = after + name[-1], name[:-1]
    if len(before + after) > 1:
        raise ValueError(f"{text!r} has two signs; give one, before or after the number.")
    return before + after, digits, name.strip()


def _said(name: str, default_unit: str, division: TypedLength | None) -> str:
    """The name of the parts of a unit that a number counts in, "" where it is a unit itself."""
    if matched := _HUNDREDTHS.fullmatch(name):
        return f"{matched[1]} {_HUNDREDTH}"
    counted = name or default_unit
    if (matched := _DIVISION.fullmatch(counted)) and not matched[1] and division:
        return f"{DIVISIONS} of {division.typed}"
    return "" if name or default_unit in UNITS else default_unit


def _named(text: str, cleaned: str, name: str, said: str) -> str:
    """What is kept of what was typed: as it stands, or with the parts it counts in named."""
    if not said or said.casefold() == name:
        return text
    number = text.strip() if not name else cleaned.removesuffix(name).strip()
    if len(kept := f"{number} {said}") > LONGEST_TEXT:
        raise ValueError(f"That is too long for one length ({LONGEST_TEXT} characters at most).")
    return kept


def _refuse_bare_fraction(text: str, default_unit: str) -> None:
    part = {"in": "thou", "mm": "hundredths"}.get(default_unit)
    if part:
        raise ValueError(
            f"{text!r} can be read in two ways: of a whole {default_unit}, or of {part}. "
            f"Write its unit: {text.strip()} {part}, or {text.strip()} {default_unit}."
        )


def format_length(
    value_um: Decimal | int | float,
    unit: str,
    *,
    places: int | None = None,
    signed: bool = False,
    with_unit: bool = False,
) -> str:
    """``value_um`` as text in ``unit`` ("in", "mm" or "um"), never in exponent form.

    Without ``places``, a ``Decimal`` that is a finite decimal in the unit is written with all
    its digits and no trailing zeros, so what was typed in inches comes back digit for digit.
    A float, or a metric length that has no end in inches, is rounded half up to the unit's usual
    places (in 5, mm 4, µm 1). ``signed`` writes a plus before what is above zero; ``with_unit``
    writes the unit behind. Raises ValueError for an unknown unit or a value that is not finite.
    """
    _known_unit(unit)
    exact = Decimal(value_um) if isinstance(value_um, Decimal | int) else Decimal(float(value_um))
    if not exact.is_finite():
        raise ValueError(f"A length to be shown must be a finite number, not {value_um}.")
    text = None
    if places is None and isinstance(value_um, Decimal | int):
        text = _all_digits(exact, unit)
    if text is None:
        text = _rounded(exact, unit, USUAL_PLACES[unit] if places is None else places)
    if signed and text.strip("0.") and not text.startswith("-"):
        text = f"+{text}"
    return f"{text} {UNIT_SYMBOLS[unit]}" if with_unit else text


def _known_unit(unit: str) -> None:
    if unit not in UNITS:
        raise ValueError(f"The unit of a length is in, mm or um, not {unit!r}.")


def _known_count(count: str) -> None:
    if count not in COUNTS:
        raise ValueError(f"A bare number is in in, mm or um, or in {', '.join(COUNTS)}: {count!r}.")


def _refuse_by_looks(text: str, cleaned: str) -> None:
    if not cleaned:
        raise ValueError(f"Nothing was typed. {_EXPECTED}")
    if len(text) > LONGEST_TEXT:
        raise ValueError(f"That is too long for one length ({LONGEST_TEXT} characters at most).")
    if _NOT_FINITE.fullmatch(cleaned):
        raise ValueError(f"{text!r} is not a number that can be measured. {_EXPECTED}")
    if _EXPONENT.search(cleaned):
        raise ValueError(f"{text!r} is in exponent form; write the number out. {_EXPECTED}")
    if not _SIGNED_NUMBER.fullmatch(cleaned):
        raise ValueError(f"{text!r} does not start with a number. {_EXPECTED}")


def _unit_meant(
    rest: str, text: str, default_unit: str, division: TypedLength | None
) -> tuple[Decimal, str]:
    """Micrometres per unit, and the unit to show the length in again."""
    name = rest.removesuffix(".").strip() if rest.startswith("in") else rest
    if not name:
        return UM_PER_UNIT[default_unit], default_unit
    if name in _NAMES:
        return _NAMES[name], _METRIC_UNIT.get(_NAMES[name], "in")
    if _HUNDREDTHS.fullmatch(name):
        return UM_PER_UNIT["mm"] / 100, "mm"
    if matched := _DIVISION.fullmatch(name):
        return _of_division(matched[1], text)
    if name in ("mil", "mils"):
        raise ValueError(
            f"{text!r} can be read in two ways: a mil is a thousandth of an inch to some and a "
            "millimetre to others. Write thou or mm."
        )
    if re.search("[0-9]", name):
        raise ValueError(f"{text!r} holds more than one number. {_EXPECTED}")
    parts = re.findall(r'"|[^\s"]+', name)
    if len(parts) > 1 and all(part.rstrip(".") in _NAMES for part in parts):
        raise ValueError(f"{text!r} names two units; give one length with one unit.")
    raise ValueError(
        f'{rest!r} is not a unit used here. Use in (or "), thou, tenths, mm or µm, or no unit '
        f"at all for {UNIT_SYMBOLS[default_unit]}."
    )


def _of_division(size: str | None, text: str) -> tuple[Decimal, str]:
    """What one division is, said behind the number or by the indicator."""
    if not size:
        raise ValueError(
            f"{text!r} counts divisions of the dial, and what one of them is is not known. Choose "
            "the indicator first, or type such as 3 div of 0.01 mm."
        )
    try:
        one = read_length(size, "mm")
    except ValueError as error:
        raise ValueError(f"What a division is cannot be read from {text!r}: {error}") from error
    return abs(one.value_um), one.unit


def _number(digits: str, text: str) -> Decimal:
    """The plain decimal in ``digits``; a comma counts as the decimal mark where it can be one."""
    if "/" in digits:
        return _fraction(digits, text)
    if _LOOKS_GROUPED.fullmatch(digits):
        whole, part = digits.split(",")
        raise ValueError(
            f"{text!r} can be read in two ways: {whole}{part} with a comma between thousands, or "
            f"{whole}.{part} with a decimal comma. Use a point for decimals and no comma."
        )
    if digits.count(".") + digits.count(",") > 1:
        raise ValueError(f"{text!r} has more than one decimal mark. Use one point and no comma.")
    if not digits.strip(".,"):
        raise ValueError(f"{text!r} has no digits. {_EXPECTED}")
    return Decimal(digits.replace(",", "."))


def _fraction(digits: str, text: str) -> Decimal:
    matched = _FRACTION.fullmatch(digits)
    if matched is None or not int(matched[3]):
        raise ValueError(f"{text!r} is no fraction that can be read; such as 1/2 thou, 1 1/2 thou.")
    whole, over, under = (int(part or 0) for part in matched.groups())
    with localcontext(prec=3 * LONGEST_TEXT):
        return Decimal(whole) + Decimal(over) / Decimal(under)


def _exact(number: Decimal, um_per: Decimal, text: str, longest_um: Decimal) -> Decimal:
    with localcontext(prec=3 * LONGEST_TEXT):  # every product of typed digits fits
        value = number * um_per
        if value > longest_um:
            raise ValueError(
                f"{text!r} is {_plain(value / 1000)} mm; the longest length taken here is "
                f"{_plain(longest_um / 1000)} mm. Look at the decimal point and the unit."
            )
        kept = value.quantize(STEP_UM)
        if kept != value:
            raise ValueError(
                f"{text!r} is finer than can be kept exactly: lengths are kept to 0.0001 µm, "
                "which is six decimals of an inch, seven of a millimetre or four of a micrometre."
            )
        return kept


def _all_digits(exact: Decimal, unit: str) -> str | None:
    """Every digit of a length in ``unit``, or None when they have no end."""
    with localcontext(prec=3 * LONGEST_TEXT):
        scaled = (exact / UM_PER_UNIT[unit]).quantize(Decimal("1e-9"))
        return _plain(scaled) if scaled * UM_PER_UNIT[unit] == exact else None


def _rounded(exact: Decimal, unit: str, places: int) -> str:
    with localcontext(prec=3 * LONGEST_TEXT):
        # A float such as 0.15 lies just beside the decimal it is written as; without this step
        # half up would go by digits nobody sees.
        tidy = exact.quantize(Decimal("1e-9"), rounding=ROUND_HALF_UP)
        step = Decimal(1).scaleb(-places)
        shown = (tidy / UM_PER_UNIT[unit]).quantize(step, rounding=ROUND_HALF_UP)
    return f"{shown if shown else abs(shown):f}"


def _plain(number: Decimal) -> str:
    """Without trailing zeros, exponent or a minus before zero."""
    text = f"{number:f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text
