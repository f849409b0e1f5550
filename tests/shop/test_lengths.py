"""What people type at the machine, read exactly and shown again exactly."""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.lengths import format_length, parse_length, read_length

TYPED = [
    (".0005", "in", "12.7"),
    ("0.0005", "mm", "0.5"),
    ('0.0005"', "mm", "12.7"),
    ("0.0005”", "mm", "12.7"),
    ("0.0005''", "mm", "12.7"),
    ("5 tenths", "in", "12.7"),
    ("5 tenths", "mm", "12.7"),
    ("1 tenth", "um", "2.54"),
    ("-1.2 thou", "mm", "-30.48"),
    ("12 µm", "in", "12"),
    ("12 μm", "in", "12"),
    ("12um", "in", "12"),
    ("7 microns", "in", "7"),
    ("0.012 mm", "in", "12"),
    ("0.012 MM", "in", "12"),
    ("2 in", "mm", "50800"),
    ("2 in.", "mm", "50800"),
    ("2 inch", "mm", "50800"),
    ("0.000001 in", "mm", "0.0254"),
    ("20 µin", "mm", "0.508"),
    ("  +3 ", "um", "3"),
    ("−3", "um", "-3"),
    ("- 3", "um", "-3"),
    ("–3", "um", "-3"),
    ("0,012", "mm", "12"),
    (",5", "um", "0.5"),
    ("12,5", "um", "12.5"),
    ("1,2345", "mm", "1234.5"),
    ("5.", "um", "5"),
    ("0", "in", "0"),
    ("-0.000", "in", "0"),
    ("3\u00a0mm", "in", "3000"),
    ("1/2 thou", "mm", "12.7"),
    ("1 1/2 thou", "mm", "38.1"),
    ("-1/2 tenths", "mm", "-1.27"),
    ("1/2", "thou", "12.7"),
    ("1/2 in", "mm", "12700"),
    ("12 mic", "in", "12"),
    ("12.5 µ", "in", "12.5"),
    ("3-", "um", "-3"),
    ("3+", "um", "3"),
    ("3 tenths-", "mm", "-7.62"),
    ("0,012- mm", "in", "-12"),
    ("11", "tenths", "27.94"),
    ("-1.5", "thou", "-38.1"),
    ("4 µm", "tenths", "4"),
    ("5 hundredths", "mm", "50"),
    ("5 hundredths", "in", "50"),
    ("1 hundredth of a mm", "in", "10"),
    ("3 div of 0.0005 in", "mm", "38.1"),
    ("-2 divisions of 0.01 mm", "in", "-20"),
]


@pytest.mark.parametrize(("text", "unit", "um"), TYPED)
def test_what_people_type_is_read_exactly(text, unit, um):
    assert parse_length(text, unit) == Decimal(um)


REFUSED = [
    ("", "Nothing was typed"),
    ("   ", "Nothing was typed"),
    ("abc", "does not start with a number"),
    ("5 abc", "not a unit"),
    ("0.OOS", "not a unit"),
    ("0.O5", "more than one number"),
    ("mm", "does not start with a number"),
    ("-", "does not start with a number"),
    (".", "no digits"),
    ("--5", "does not start with a number"),
    ("5 km", "not a unit"),
    ("5 ft", "not a unit"),
    ("5 mil", "two ways"),
    ("1,234", "two ways"),
    ("-12,345 mm", "two ways"),
    ("1,234.5", "more than one decimal mark"),
    ("1.2.3", "more than one decimal mark"),
    ("5 mm in", "two units"),
    ('0.5 in"', "two units"),
    ("0.5 in 12 µm", "more than one number"),
    ("5 6", "more than one number"),
    ("1e-3", "exponent"),
    ("1E3 mm", "exponent"),
    ("nan", "not a number that can be measured"),
    ("-inf", "not a number that can be measured"),
    ("1/2", "two ways: of a whole mm, or of hundredths"),
    ("5 tenths of a mm", "not a unit used here"),
    ("1/0 thou", "no fraction"),
    ("1/3 thou", "finer than can be kept"),
    ("1/2/3 mm", "more than one number"),
    ("-3-", "two signs"),
    ("+3 mm-", "two signs"),
    ("3 div", "Choose the indicator first"),
    ("3 div of nothing", "What a division is cannot be read"),
    ("5-6", "more than one number"),
    ("1000000 mm", "longest length taken here is 100000 mm"),
    ("9" * 30, "longest length"),
    ("9" * 50, "too long"),
    ("0.00000001 in", "finer than can be kept"),
    ("0.00005 µm", "finer than can be kept"),
    ("٣ mm", "does not start with a number"),
]


TENTH_OF_A_DIAL = read_length("0.0005 in", "in")


@pytest.mark.parametrize(
    ("text", "counts_in", "kept"),
    [
        ("11", "tenths", "11 tenths"),
        ("3-", "thou", "3- thou"),
        ("3", "div", "3 div of 0.0005 in"),
        ("-3 div", "mm", "-3 div of 0.0005 in"),
        ("5 hundredths", "in", "5 hundredths of a mm"),
        ("12", "um", "12"),
        ("4 µm", "tenths", "4 µm"),
    ],
)
def test_what_counts_in_parts_of_a_unit_is_kept_with_their_name(text, counts_in, kept):
    assert read_length(text, counts_in, division=TENTH_OF_A_DIAL).typed == kept


def test_a_bare_fraction_of_an_inch_is_asked_about():
    with pytest.raises(ValueError, match="1/2 thou, or 1/2 in"):
        parse_length("1/2", "in")


COUNTED = st.tuples(
    st.sampled_from(["", "-", "+"]),
    st.decimals(0, 400, places=1),
    st.sampled_from(["tenths", "thou", "in", "mm", "um", "div"]),
)


@settings(max_examples=200)
@given(COUNTED)
def test_what_is_kept_reads_the_same_beside_any_box(counted):
    sign, number, counts_in = counted
    first = read_length(f"{sign}{number}", counts_in, division=TENTH_OF_A_DIAL)
    beside = first.unit if first.typed == f"{sign}{number}" else "mm"
    again = read_length(first.typed, beside)
    assert (again.value_um, again.unit) == (first.value_um, first.unit)


@settings(max_examples=200)
@given(COUNTED)
def test_a_sign_behind_the_number_is_one_before_it(counted):
    sign, number, counts_in = counted
    before = read_length(f"{sign}{number}", counts_in, division=TENTH_OF_A_DIAL)
    after = read_length(f"{number}{sign}", counts_in, division=TENTH_OF_A_DIAL)
    assert after.value_um == before.value_um


@settings(max_examples=200)
@given(
    st.integers(0, 20),
    st.integers(0, 64),
    st.sampled_from([1, 2, 4, 5, 8, 10, 16]),
)
def test_a_fraction_is_the_decimal_it_stands_for(whole, over, under):
    """An eighth or a sixteenth of a thou ends within four places of a micrometre, or is refused."""
    value = (Decimal(whole) + Decimal(over) / Decimal(under)) * Decimal("25.4")
    text = f"{whole} {over}/{under} thou"
    if value != value.quantize(Decimal("0.0001")):
        with pytest.raises(ValueError, match="finer than can be kept"):
            parse_length(text, "mm")
    else:
        assert parse_length(text, "mm") == value


@pytest.mark.parametrize(("text", "reason"), REFUSED)
def test_what_cannot_be_read_for_certain_is_refused_with_the_reason(text, reason):
    with pytest.raises(ValueError, match=reason):
        parse_length(text, "mm")


def test_something_that_was_not_typed_is_refused():
    with pytest.raises(ValueError, match="from what was typed"):
        parse_length(5, "mm")


def test_a_box_without_a_known_unit_is_refused():
    with pytest.raises(ValueError, match="in, mm or um"):
        parse_length("5", "cm")


def test_a_box_may_set_its_own_limit():
    with pytest.raises(ValueError, match="longest length taken here is 10 mm"):
        parse_length("11", "mm", longest_um=Decimal(10_000))


def test_the_longest_length_itself_is_taken():
    assert parse_length("100000", "mm") == Decimal(100_000_000)


@pytest.mark.parametrize(
    ("text", "unit"),
    [("5", "mm"), ("5 tenths", "in"), ("5 thou", "in"), ("5 µm", "um"), ('.5"', "in")],
)
def test_the_unit_that_was_typed_is_kept(text, unit):
    assert read_length(text, "mm").unit == unit


def test_the_text_is_kept_as_it_was_typed():
    assert read_length(" .0005 ", "in").typed == " .0005 "


SHOWN = [
    (Decimal("12.7"), "in", {}, "0.0005"),
    (Decimal("12.7"), "mm", {}, "0.0127"),
    (Decimal("12.7"), "um", {}, "12.7"),
    (Decimal("12.7"), "in", {"places": 6}, "0.000500"),
    (Decimal("12"), "in", {}, "0.00047"),
    (Decimal("-12"), "in", {}, "-0.00047"),
    (Decimal("0.0254"), "in", {}, "0.000001"),
    (Decimal("25400000"), "in", {}, "1000"),
    (Decimal("0"), "in", {}, "0"),
    (3, "um", {}, "3"),
    (3.0, "um", {}, "3.0"),
    (3.25, "um", {}, "3.3"),
    (0.15, "um", {}, "0.2"),
    (-0.01, "um", {}, "0.0"),
    (-0.01, "um", {"signed": True}, "0.0"),
    (12.7, "mm", {}, "0.0127"),
    (12.7, "in", {}, "0.00050"),
    (3.25, "um", {"signed": True}, "+3.3"),
    (Decimal("-5"), "um", {"signed": True}, "-5"),
    (Decimal("12"), "um", {"with_unit": True}, "12 µm"),
    (Decimal("12700"), "in", {"with_unit": True, "signed": True}, "+0.5 in"),
    (1e9, "um", {"places": 0}, "1000000000"),
]


@pytest.mark.parametrize(("value_um", "unit", "how", "text"), SHOWN)
def test_a_length_is_shown_in_the_unit_asked_for(value_um, unit, how, text):
    assert format_length(value_um, unit, **how) == text


@pytest.mark.parametrize("value_um", [float("nan"), float("inf"), Decimal("nan")])
def test_a_length_that_is_not_finite_is_not_shown(value_um):
    with pytest.raises(ValueError, match="finite"):
        format_length(value_um, "mm")


def test_a_length_is_not_shown_in_an_unknown_unit():
    with pytest.raises(ValueError, match="in, mm or um"):
        format_length(Decimal(1), "thou")


FINEST_PLACES = {"in": 6, "mm": 7, "um": 4}


@st.composite
def plain_decimals(draw):
    """A unit and a decimal in its shortest form, such as it would be typed."""
    unit = draw(st.sampled_from(["in", "mm", "um"]))
    places = draw(st.integers(0, FINEST_PLACES[unit]))
    steps = draw(st.integers(-(10 ** (places + 3)), 10 ** (places + 3)))
    text = f"{Decimal(steps).scaleb(-places):f}"
    return unit, (text.rstrip("0").rstrip(".") if "." in text else text)


@given(plain_decimals())
@settings(max_examples=200, deadline=None)
def test_what_was_typed_comes_back_digit_for_digit(typed):
    unit, text = typed
    expected = "0" if not text.strip("-0.") else text
    assert format_length(parse_length(text, unit), unit) == expected


@given(st.sampled_from(["mm", "um"]), st.integers(-(10**11), 10**11))
@settings(max_examples=200, deadline=None)
def test_what_is_kept_survives_being_shown_and_typed_again(unit, steps):
    kept = Decimal(steps).scaleb(-4)
    assert parse_length(format_length(kept, unit), unit) == kept


@given(st.integers(-(10**8), 10**8))
@settings(max_examples=200, deadline=None)
def test_micro_inches_survive_being_shown_and_typed_again(micro_inches):
    kept = micro_inches * Decimal("0.0254")
    assert parse_length(format_length(kept, "in"), "in") == kept


@given(st.text(max_size=12))
@settings(max_examples=200, deadline=None)
def test_any_text_is_read_or_refused_and_nothing_else_happens(text):
    try:
        value = parse_length(text, "mm")
    except ValueError:
        return
    assert value == value.quantize(Decimal("0.0001"))
