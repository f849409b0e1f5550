"""Palettes, the pen, scales, words, and a drawing's two ways out: SVG and PDF."""

import unicodedata
from datetime import date
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from reportlab.graphics.shapes import Circle, Polygon, Rect, String

from shop.paper.drawing import (
    Pen,
    abridged,
    date_ticks,
    fitted,
    listed,
    nice_step,
    shapes,
    ticks,
    to_flowable,
    to_svg,
    verdict_mark,
    wrapped,
)
from shop.paper.fonts import text_width
from shop.paper.fonts.scripts import printable, visual_line
from shop.paper.palettes import DARK, LIGHT, PALETTES, PRINT

SVG = "{http://www.w3.org/2000/svg}"
HEBREW_NAME = "משה כהן"


def pen():
    return Pen(360, 100, LIGHT)


def svg_of(a_pen, title="", description=""):
    return ElementTree.fromstring(to_svg(a_pen.drawing, title, description))


def luminance(colour):
    """Relative luminance as WCAG 2.2 defines it."""
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in colour.rgb()]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one, other):
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


@pytest.mark.parametrize("name", PALETTES)
def test_words_stand_out_from_the_paper_as_wcag_asks_of_text(name):
    """WCAG 2.2 success criterion 1.4.3: at least 4.5 to 1."""
    palette = PALETTES[name]
    for colour in (palette.ink, palette.muted, palette.accent):
        for ground in (palette.paper, palette.faint):
            assert contrast(colour, ground) >= 4.5


@pytest.mark.parametrize("name", PALETTES)
def test_green_and_red_marks_stand_out_as_wcag_asks_of_graphics(name):
    """WCAG 2.2 success criterion 1.4.11: at least 3 to 1; yellow carries an outline in ink."""
    palette = PALETTES[name]
    assert contrast(palette.within, palette.paper) >= 3
    assert contrast(palette.outside, palette.paper) >= 3


def test_print_leaves_the_paper_unpainted():
    assert not list(shapes(Pen(10, 10, PRINT).drawing))
    assert len(list(shapes(Pen(10, 10, DARK).drawing))) == 1


@pytest.mark.parametrize(
    ("verdict", "shape", "colour"),
    [
        ("within", Circle, LIGHT.within),
        ("outside", Rect, LIGHT.outside),
        ("not proven", Polygon, LIGHT.not_proven),
    ],
)
def test_each_verdict_has_a_shape_of_its_own_in_its_signal_colour(verdict, shape, colour):
    a_pen = pen()
    verdict_mark(a_pen, verdict, 50, 50, 12)
    mark = list(shapes(a_pen.drawing))[-1]
    assert isinstance(mark, shape)
    assert mark.fillColor == colour


def test_no_verdict_is_neither_circle_nor_square_nor_triangle():
    a_pen = pen()
    verdict_mark(a_pen, "", 50, 50, 12)
    assert not isinstance(list(shapes(a_pen.drawing))[-1], (Circle, Rect, Polygon))


@pytest.mark.parametrize(
    ("span", "at_most", "step"),
    [
        (10, 5, 2),
        (10, 10, 1),
        (0.9, 3, 0.5),
        (7, 3, 5),
        (100, 3, 50),
        (12.7, 4, 5),
        (0.0004, 4, 1e-4),
    ],
)
def test_scale_steps_are_one_two_or_five(span, at_most, step):
    assert nice_step(span, at_most) == pytest.approx(step)


@pytest.mark.parametrize("span", [0, -1, float("nan")])
def test_a_scale_without_a_span_is_refused(span):
    with pytest.raises(ValueError, match="more than zero"):
        nice_step(span, 4)


def test_ticks_include_round_ends_and_zero():
    assert ticks(-10, 10, 4) == pytest.approx([-10, -5, 0, 5, 10])


@settings(max_examples=60)
@given(st.dates(date(1990, 1, 1), date(2060, 1, 1)), st.integers(0, 9000), st.integers(2, 8))
def test_date_ticks_lie_in_the_span_and_are_never_too_many(first, days, at_most):
    last = date.fromordinal(first.toordinal() + days)
    found = date_ticks(first, last, at_most)
    assert 1 <= len(found) <= at_most
    assert all(first <= day <= last for day in found)
    assert all(a < b for a, b in pairwise(found))


def test_two_years_are_marked_at_the_start_of_each_half():
    found = date_ticks(date(2024, 3, 5), date(2026, 2, 1), 5)
    assert found == [date(2024, 7, 1), date(2025, 1, 1), date(2025, 7, 1), date(2026, 1, 1)]


def test_a_line_of_text_is_shortened_to_its_room():
    shown = fitted("guide bushing housing of the second machine", 80, 11)
    assert shown.endswith("…")
    assert text_width(shown, 11) <= 80


def test_wrapping_keeps_a_number_with_its_unit():
    lines = wrapped(
        "the tolerance is 12.7\u00a0µm here", text_width("the tolerance is 12.7", 11), 11
    )
    assert lines == ["the tolerance is", "12.7\u00a0µm here"]


def test_lists_read_as_sentences():
    assert listed([]) == ""
    assert listed(["a"]) == "a"
    assert listed(["a", "b", "c"]) == "a, b and c"


def test_a_long_list_keeps_its_first_and_its_latest():
    assert abridged("abc", 3) == ["a", "b", "c"]
    assert abridged("abcdefg", 4) == ["a", "3 more between", "e", "f", "g"]


def test_svg_text_is_escaped_and_named_for_screen_readers():
    a_pen = pen()
    a_pen.text(10, 10, "<b> & 'c'")
    svg = svg_of(a_pen, "A & B", "less < more")
    assert svg.find(f"{SVG}title").text == "A & B"
    assert svg.find(f"{SVG}desc").text == "less < more"
    assert svg.get("role") == "img"
    assert [node.text for node in svg.iter(f"{SVG}text")] == ["<b> & 'c'"]


def test_svg_carries_no_style_attribute_a_content_policy_would_refuse():
    a_pen = pen()
    a_pen.line(0, 0, 10, 10, dash=(2, 2))
    a_pen.text(10, 10, "12.7\u00a0µm", bold=True)
    nodes = list(svg_of(a_pen).iter())
    assert not [node for node in nodes if "style" in node.attrib]
    assert nodes[-1].get("font-weight") == "bold"
    assert nodes[-1].text == "12.7\u00a0µm"


def test_a_dashed_line_is_drawn_once_so_its_gaps_stay_open():
    a_pen = pen()
    a_pen.line(0, 20.5, 100, 20.5, dash=(4, 3))
    line = list(svg_of(a_pen).iter(f"{SVG}polyline"))[-1]
    assert line.get("points") == "0 20.5, 100 20.5"
    assert line.get("stroke-dasharray") == "4, 3"
    assert line.get("fill") == "none"


def test_svg_text_stands_at_its_exact_height():
    a_pen = pen()
    a_pen.text(10, 33.3, "reading", anchor="end")
    text = next(svg_of(a_pen).iter(f"{SVG}text"))
    assert (text.get("y"), text.get("transform")) == ("-33.3", "scale(1,-1)")
    assert text.get("text-anchor") == "end"


def test_the_same_drawing_gives_the_same_svg():
    a_pen = pen()
    a_pen.arrow(0, 0, 30, 30)
    assert to_svg(a_pen.drawing, "t") == to_svg(a_pen.drawing, "t")


def test_control_characters_cannot_break_the_svg():
    a_pen = pen()
    a_pen.text(1, 1, "a\x00\x0b\ud800b")
    assert [node.text for node in svg_of(a_pen, "\x07bell").iter(f"{SVG}text")] == ["ab"]


def test_a_flowable_is_scaled_and_leaves_the_drawing_as_it_was():
    drawing = pen().drawing
    flowable = to_flowable(drawing, width=180)
    assert flowable.wrap(500, 500) == (180, 50)
    assert drawing.renderScale == 1


def test_a_right_to_left_name_is_put_in_the_order_it_is_seen_only_for_print():
    a_pen = pen()
    a_pen.text(1, 1, HEBREW_NAME)
    printed = [s.text for s in shapes(to_flowable(a_pen.drawing)) if isinstance(s, String)]
    assert printed == [HEBREW_NAME[::-1]]
    assert next(svg_of(a_pen).iter(f"{SVG}text")).text == HEBREW_NAME


@pytest.mark.parametrize(
    ("logical", "seen"),
    [
        ("Łódź Αθήνα Київ", "Łódź Αθήνα Київ"),
        ("owner: משה", "owner: השמ"),
        ("משה 12", "12 השמ"),
        ("(משה)", "(השמ)"),
    ],
)
def test_words_are_ordered_by_the_direction_of_the_line(logical, seen):
    """Unicode bidirectional algorithm (UAX 9), worked by hand."""
    assert visual_line(logical) == seen


def test_arabic_letters_are_joined():
    """Joining forms by their names in the Unicode character database."""
    names = [unicodedata.name(c) for c in visual_line("سلام")[::-1]]
    assert names == [
        "ARABIC LETTER SEEN INITIAL FORM",
        "ARABIC LIGATURE LAM WITH ALEF FINAL FORM",
        "ARABIC LETTER MEEM ISOLATED FORM",
    ]


def test_a_letter_and_its_accent_are_composed():
    assert printable("e\u0301\u202e\tx\r\ny") == "é x\ny"
