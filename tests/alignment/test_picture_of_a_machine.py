"""The picture of a machine: every kind of machine, every state, every size of chain."""

from itertools import combinations

import pytest
from reportlab.graphics.shapes import String

from alignment.figures.machine import SIZES, BeltMark, EndView, MachineFigure, StationMark
from alignment.figures.machine.layout import TIPS
from alignment.figures.state_marks import MASTER, STATE_SHAPES, state_mark
from alignment.geometry.adjust.state import BEFORE_A_CRASH, NOT_MEASURED, STALE
from alignment.sweeps.models import Check
from machines.kinds.catalogue import our_kinds
from machines.register.models import Station
from shop.paper.drawing import Pen, shapes, to_flowable, to_svg
from shop.paper.palettes import LIGHT, PALETTES, PRINT

# What a figure's text may not fall below: 12 pixels on a screen, 7 points on paper; how wide the
# page shows each size at the least, and a sheet of A4 within its margins.
LEAST_PX, LEAST_PT = 12, 7
SHOWN_PX = {"wide": 600, "narrow": 308}
PAPER_PT = 480


def mark(number, kind="gang tools", **about):
    about = {"name": f"station {number}", "state": "within", "words": "within"} | about
    return StationMark(key=number, number=number, kind=kind, **about)


def figure(*stations, side="left", belts=()):
    return MachineFigure("7 by the door", side, stations, belts)


def texts(drawing):
    return [shape for shape in shapes(drawing) if isinstance(shape, String)]


def written(drawing):
    return " ".join(shape.text for shape in texts(drawing))


def of_kind(kind, side):
    return figure(
        *(mark(n, one.kind, name=one.name) for n, one in enumerate(kind.stations, start=1)),
        side=side,
        belts=tuple(BeltMark(belt["name"], belt["drives"], 0) for belt in kind.belts),
    )


def overlap(one, other):
    return (
        one.x < other.right - 0.01
        and other.x < one.right - 0.01
        and one.y < other.bottom - 0.01
        and other.y < one.bottom - 0.01
    )


def assert_it_stands_clear(drawn, size):
    """Everything lies within the picture, and no station on another."""
    layout = drawn.layout(size)
    rects = [rect for _station, places in layout.places for rect in places]
    assert all(rect.x >= 0 and rect.right <= layout.width + 0.01 for rect in rects)
    assert all(rect.y >= 0 and rect.bottom <= layout.height + 0.01 for rect in rects)
    assert not [pair for pair in combinations(rects, 2) if overlap(*pair)]
    assert [station.number for station, _places in layout.places] == [
        station.number for station in drawn.stations
    ]


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize("kind", our_kinds().values(), ids=our_kinds())
def test_every_kind_of_machine_has_each_station_in_its_place(kind, side, size):
    drawn = of_kind(kind, side)
    assert_it_stands_clear(drawn, size)
    layout = drawn.layout(size)
    middles = {block.station.kind: block.rect.middle[0] for block in layout.blocks}
    along = [
        middles[one] for one in ("headstock", "guide bushing", "sub-spindle") if one in middles
    ]
    assert along == sorted(along, reverse=side == "right")
    for block in layout.blocks:
        if block.station.kind in ("gang tools", "turret"):
            assert block.rect.bottom + TIPS < layout.axis
        elif block.station.kind in ("back tools", "other"):
            assert block.rect.y > layout.axis


@pytest.mark.parametrize("size", SIZES)
def test_a_station_of_an_unknown_kind_gets_a_plain_block(size):
    drawn = figure(mark(1, "headstock"), mark(2, "thread whirler", name="whirler"))
    assert_it_stands_clear(drawn, size)
    assert "whirler" in written(drawn.drawing(LIGHT, size))


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize("kinds", [[kind] for kind in Station.Kind.values] + [Station.Kind.values])
def test_sixty_stations_do_not_break_it(kinds, side, size):
    many = [mark(n, kinds[n % len(kinds)]) for n in range(60)]
    assert_it_stands_clear(figure(*many, side=side), size)


@pytest.mark.parametrize("size", SIZES)
def test_a_machine_without_stations_says_so(size):
    drawn = figure()
    assert "No station yet." in written(drawn.drawing(LIGHT, size))
    assert drawn.describe() == "No station is on record yet."


@pytest.mark.parametrize("size", SIZES)
def test_no_text_is_too_small_to_read(size):
    drawn = figure(
        mark(1, "headstock", view=EndView(size_um=2.0, ring_um=5.0), told=("ring 5.0 µm",)),
        mark(2, "guide bushing", view=EndView(1, 1, 5), hit="27 Nov", moved="28 Nov"),
        mark(3, "turret", state="not proven", words="not proven"),
        belts=(BeltMark("jack shaft belt", "spindle to jack shaft", 2),),
    )
    said = [text for text in texts(drawn.drawing(LIGHT, size)) if text.text != "?"]
    smallest = min(text.fontSize for text in said)
    assert smallest * SHOWN_PX[size.removesuffix("-plain")] / SIZES[size].width >= LEAST_PX
    on_paper = to_flowable(drawn.drawing(PRINT, "wide"), PAPER_PT)
    assert smallest * on_paper.renderScale >= LEAST_PT


def test_every_state_has_a_word_and_a_shape_of_its_own():
    known = {*Check.Verdict.values, BEFORE_A_CRASH, STALE, NOT_MEASURED, MASTER}
    assert set(STATE_SHAPES) == known
    assert len(set(STATE_SHAPES.values())) == len(known)


@pytest.mark.parametrize("palette", PALETTES.values(), ids=PALETTES)
def test_the_marks_differ_without_their_colours(palette):
    drawn = set()
    for state in STATE_SHAPES:
        pen = Pen(20, 20, palette)
        state_mark(pen, state, 10, 10, 14)
        outline = [
            (type(shape).__name__, *getattr(shape, "points", [getattr(shape, "r", 0)]))
            for shape in shapes(pen.drawing)
        ]
        drawn.add(tuple(map(str, outline)))
    assert len(drawn) == len(STATE_SHAPES)


def test_a_word_that_is_no_state_is_refused():
    with pytest.raises(ValueError, match="'fine' is no state, expected one of: within"):
        state_mark(Pen(20, 20, LIGHT), "fine", 10, 10, 14)


@pytest.mark.parametrize("state", STATE_SHAPES)
def test_the_picture_says_each_state_in_words(state):
    drawn = figure(mark(1, "headstock", state=state, words=f"{state}, so to say"))
    assert f"{state}, so to say" in written(drawn.drawing(LIGHT, "narrow"))
    assert f"{state}, so to say" in drawn.describe()


def test_what_happened_stands_on_the_machine():
    drawn = figure(
        mark(1, "headstock"),
        mark(2, "sub-spindle", hit="27 Nov"),
        mark(3, "gang tools", moved="28 Nov"),
        belts=(
            BeltMark("jack shaft belt", "spindle to jack shaft", 2),
            BeltMark("guide bushing belt", "jack shaft to guide bushing", 1),
            BeltMark("main motor belt", "motor to spindle", 0),
            BeltMark("pump belt"),
        ),
    )
    said = written(drawn.drawing(LIGHT, "wide"))
    for words in ("27 Nov", "moved 28 Nov", "jack shaft belt: 2 bad teeth"):
        assert words in said
    assert "guide bushing belt: 1 bad tooth" in said
    assert "main motor belt: teeth sound" in said
    assert "pump belt: not inspected" in said
    assert "2 station 2: within, hit 27 Nov" in drawn.describe()


def test_it_is_plain_svg_that_no_policy_refuses():
    svg = to_svg(figure(mark(1, "headstock")).drawing(LIGHT, "wide"), "7", "seven")
    assert "style=" not in svg
    assert "<script" not in svg


@pytest.mark.parametrize(("side", "hand"), [("left", 1), ("right", -1)])
def test_front_is_where_it_is_for_whoever_looks_away_from_the_headstock(side, hand):
    """Standing at the headstock and looking along the bar, the operator's side is at the right
    hand where the headstock stands at his left (geometry alone)."""
    drawn = figure(mark(1, "headstock"), side=side)
    assert EndView(3.0, -4.0, 5.0).place(drawn.hand) == (hand * 0.6, -0.8)


def test_a_side_that_is_none_is_refused():
    with pytest.raises(ValueError, match="left or right, not 'behind'"):
        figure(side="behind")


def test_a_dot_far_outside_stays_in_the_picture():
    near = figure(mark(1, "headstock", view=EndView(6, 0, 5)))
    far = figure(mark(1, "headstock", view=EndView(5000, 0, 5)))
    for drawn in (near, far):
        bounds = drawn.drawing(LIGHT, "narrow").getBounds()
        assert bounds[0] >= -1
        assert bounds[2] <= SIZES["narrow"].width + 1
