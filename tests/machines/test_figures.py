"""The belt's tooth map: shapes, letters, numbers, and the map in words."""

import pytest
from reportlab.graphics.shapes import Polygon, PolyLine, String

from machines.drive.figures import LETTERS, PITCH, BeltFigure, draw_tooth
from machines.engineering.belts import CONDITIONS
from shop.paper.drawing import Pen, shapes, to_svg
from shop.paper.fonts import BOLD, text_width
from shop.paper.palettes import LIGHT, PALETTES

WORN_BELT = BeltFigure(
    "belt to the jack shaft",
    72,
    {11: "marked", 12: "marked", 40: "cracked", 41: "missing"},
    {11: "marked", 40: "worn", 60: "marked"},
)


def drawn(figure, kind):
    return [shape for shape in shapes(figure.drawing()) if isinstance(shape, kind)]


def tooth(condition):
    """What one tooth is drawn with, colours left out."""
    pen = Pen(40, 40, LIGHT)
    draw_tooth(pen, condition, 20, 10)
    shapes_of_it = list(shapes(pen.drawing))[1:]
    return [(type(s).__name__, getattr(s, "points", None), s.strokeDashArray) for s in shapes_of_it]


def test_every_condition_has_a_shape_of_its_own_without_its_colour():
    looks = [repr(tooth(condition)) for condition in CONDITIONS]
    assert len(set(looks)) == len(CONDITIONS)


def test_every_condition_but_sound_has_a_letter_of_its_own():
    letters = [LETTERS[condition] for condition in CONDITIONS]
    assert letters[0] == ""
    assert len(set(letters)) == len(CONDITIONS)


@pytest.mark.parametrize("teeth", [10, 16, 17, 72, 260])
def test_every_tooth_of_the_belt_is_drawn_once(teeth):
    outlines = [p for p in drawn(BeltFigure("belt", teeth), Polygon) if len(p.points) in (8, 14)]
    in_the_key = len(CONDITIONS)
    assert len(outlines) == teeth + in_the_key


def test_damaged_teeth_are_numbered_in_bold():
    bold = [s.text for s in drawn(WORN_BELT, String) if s.fontName == BOLD and s.text.isdigit()]
    assert bold == ["11", "12", "40", "41", "60"]


def test_a_cracked_tooth_is_split():
    assert len(drawn(WORN_BELT, PolyLine)) == 2  # tooth 40 and the key


def test_the_map_of_last_time_stands_below_in_grey_letters():
    grey = [s.text for s in drawn(WORN_BELT, String) if s.fillColor == LIGHT.muted]
    assert [grey.count(letter) for letter in ("D", "W", "·")] == [2, 1, 69]


def test_three_figure_numbers_of_neighbours_do_not_touch():
    assert text_width("128", 10, bold=True) < PITCH


@pytest.mark.parametrize("palette", PALETTES.values(), ids=PALETTES)
def test_no_words_run_off_the_picture(palette):
    drawing = WORN_BELT.drawing(palette)
    for string in (s for s in shapes(drawing) if isinstance(s, String)):
        width = text_width(string.text, string.fontSize, string.fontName == BOLD)
        right = string.x + {"start": width, "middle": width / 2}[string.textAnchor]
        assert right <= drawing.width


def test_the_map_says_its_teeth_and_what_changed_in_words():
    assert WORN_BELT.describe() == (
        "belt to the jack shaft: of 72 teeth 68 sound, 2 damaged (teeth 11 and 12), "
        "1 cracked (tooth 40) and 1 missing (tooth 41). Since last time: "
        "tooth 12 was sound, is damaged; tooth 40 was worn, is cracked; "
        "tooth 41 was sound, is missing; tooth 60 was damaged, is sound."
    )


def test_a_sound_belt_says_so():
    assert BeltFigure("belt", 20).describe() == "belt: all 20 teeth sound."
    assert BeltFigure("belt", 20, {}, {}).describe().endswith("Nothing changed since.")


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ((0,), "at least one tooth"),
        ((10, {11: "worn"}), "teeth 1 to 10"),
        ((10, {1: "tired"}), "expected one of"),
        ((10, {}, {0: "worn"}), "teeth 1 to 10"),
    ],
)
def test_a_map_that_is_not_of_this_belt_is_refused(arguments, message):
    with pytest.raises(ValueError, match=message):
        BeltFigure("belt", *arguments)


def test_a_belt_named_with_markup_prints_it_literally():
    svg = to_svg(WORN_BELT.drawing(), "<belt> & co")
    assert "<title>&lt;belt&gt; &amp; co</title>" in svg
