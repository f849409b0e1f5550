"""The pictures of alignment: what is drawn where, and what they say in words."""

from datetime import date, timedelta
from math import hypot

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from reportlab.graphics.shapes import Circle, Line, Polygon, PolyLine, String
from scipy import stats

from alignment.figures import (
    AxisPosition,
    Band,
    Fan,
    IncidentMark,
    SeriesFigure,
    SweepFigure,
    Tolerance,
    TrackFigure,
    TrackVisit,
    VisitValue,
    ellipse_scale,
)
from alignment.figures.positions import components, ellipse_points
from shop.paper.drawing import shapes, to_svg
from shop.paper.fonts import BOLD, text_width
from shop.paper.palettes import LIGHT, PALETTES

COVARIANCE = ((1.2, 0.3), (0.3, 0.6))
CRASH = date(2024, 8, 28)


def micrometres(value_um):
    return f"{value_um:.1f}\u00a0µm".replace("-", "−")


def inches(value_um):
    return f'{value_um / 25400:.5f}"'


def sweep(**changes):
    given = {
        "station": "guide bushing housing",
        "format_length": micrometres,
        "as_found": AxisPosition(13, -9, COVARIANCE, None, "outside"),
        "as_left": AxisPosition(-2, 3, COVARIANCE, None, "within"),
        "tolerance_um": 12.7,
    }
    return SweepFigure(**{**given, **changes})


def series(**changes):
    given = {
        "item": "bore to headstock",
        "format_length": micrometres,
        "visits": (
            VisitValue(date(2023, 11, 20), 6.0, 3.0, 1.6, 1.5),
            VisitValue(date(2024, 8, 30), 21.0, 2.5, 1.6, 1.5),
            VisitValue(date(2025, 6, 2), 5.0, None, 1.6),
        ),
        "tolerances": (Tolerance(12.7),),
    }
    return SeriesFigure(**{**given, **changes})


def track(**changes):
    visits = (
        TrackVisit(date(2023, 11, 20), AxisPosition(4, -5), AxisPosition(1, 1)),
        TrackVisit(date(2024, 8, 30), AxisPosition(8, 3)),
    )
    given = {"station": "sub-spindle", "format_length": micrometres, "visits": visits}
    return TrackFigure(**{**given, "tolerance_um": 10.0, **changes})


def forecast(highest=20.0):
    days = [date(2025, 6, 2) + timedelta(days=90 * n) for n in range(4)]
    rising = np.linspace(5, highest, 4)
    return Fan(days, rising, rising - 1, rising + 1, rising - 3, rising + 3)


def drawn(figure, kind, palette=LIGHT):
    return [shape for shape in shapes(figure.drawing(palette)) if isinstance(shape, kind)]


def words(figure):
    return [string.text for string in drawn(figure, String)]


def marks(figure, filled):
    """The circles that show a position, as found (open) or as left (filled)."""
    fill = LIGHT.accent if filled else LIGHT.paper
    return [c for c in drawn(figure, Circle) if c.fillColor == fill and c.strokeWidth == 1.8]


def tolerance_circle(figure):
    return next(c for c in drawn(figure, Circle) if c.strokeWidth == 2)


def text_ends(string):
    width = text_width(string.text, string.fontSize, string.fontName == BOLD)
    left = string.x - {"start": 0, "middle": width / 2, "end": width}[string.textAnchor]
    return left, left + width


FIGURES = {
    "sweep": sweep(),
    "sweep far out": sweep(as_found=AxisPosition(900, 400, COVARIANCE)),
    "sweep in inches": sweep(format_length=inches, round_um=25.4),
    "series": series(incidents=(IncidentMark(CRASH, "crash"),), forecast=forecast()),
    "series in inches": series(format_length=inches, round_um=25.4, factory_um=3.0),
    "track": track(),
}


@pytest.mark.parametrize("name", FIGURES)
@pytest.mark.parametrize("palette", PALETTES.values(), ids=PALETTES)
def test_no_words_run_off_the_picture(name, palette):
    figure = FIGURES[name]
    drawing = figure.drawing(palette)
    for string in drawn(figure, String, palette):
        left, right = text_ends(string)
        assert left >= 0 <= string.y
        assert right <= drawing.width


@pytest.mark.parametrize("name", FIGURES)
def test_words_are_large_enough_to_read_on_a_phone(name):
    assert FIGURES[name].drawing().width <= 360
    assert min(string.fontSize for string in drawn(FIGURES[name], String)) >= 10


@pytest.mark.parametrize("dof", [1, 3, 5, 20, 400])
def test_the_ellipse_is_the_f_quantile_where_the_spread_is_estimated(dof):
    """Against scipy's F distribution: squared half axis = 2 F(0.95; 2, dof)."""
    assert ellipse_scale(dof) ** 2 == pytest.approx(2 * stats.f.ppf(0.95, 2, dof), rel=1e-9)


def test_the_ellipse_is_the_chi_square_quantile_where_the_spread_is_known():
    """5.991 is the tabled 95 % chi-square quantile for two degrees of freedom."""
    assert ellipse_scale() ** 2 == pytest.approx(5.991, abs=5e-4)
    assert ellipse_scale() ** 2 == pytest.approx(stats.chi2.ppf(0.95, 2), rel=1e-12)


def test_an_ellipse_without_degrees_of_freedom_is_refused():
    with pytest.raises(ValueError, match="degrees of freedom"):
        ellipse_scale(0)


def test_every_point_of_the_ellipse_is_equally_unlikely():
    position = AxisPosition(3, -4, COVARIANCE)
    away = ellipse_points(position) - [3, -4]
    distance = np.einsum("ni,ij,nj->n", away, np.linalg.inv(COVARIANCE), away)
    assert distance == pytest.approx(np.full(72, ellipse_scale() ** 2))


def test_an_offset_is_told_by_its_directions_and_never_with_a_sign():
    assert components(AxisPosition(-13, -9), micrometres) == (
        "13.0\u00a0µm to the rear, 9.0\u00a0µm down"
    )
    assert components(AxisPosition(0, 0.01), micrometres) == ""


@pytest.mark.parametrize(("front_at", "hand"), [("right", 1), ("left", -1)])
def test_front_is_drawn_and_named_at_the_hand_where_the_indicator_has_it(front_at, hand):
    figure = sweep(as_left=None, front_at=front_at)
    mark = max(marks(figure, filled=False), key=lambda c: c.cy)
    circle = tolerance_circle(figure)
    front, rear = (
        next(s for s in drawn(figure, String) if s.text == side) for side in ("front", "rear")
    )
    assert (mark.cx - circle.cx) * hand > 0
    assert (front.x - circle.cx) * hand > circle.r > 0 > (rear.x - circle.cx) * hand


def test_a_station_in_front_of_and_below_its_datum_is_drawn_there():
    figure = sweep(as_left=None)
    mark = max(marks(figure, filled=False), key=lambda c: c.cy)
    circle = tolerance_circle(figure)
    points_per_um = circle.r / 12.7
    assert mark.cx - circle.cx == pytest.approx(13 * points_per_um)
    assert mark.cy - circle.cy == pytest.approx(-9 * points_per_um)


def test_an_axis_inside_its_tolerance_is_drawn_inside_the_circle_and_one_outside_is_not():
    circle = tolerance_circle(sweep())
    found = max(marks(sweep(), filled=False), key=lambda c: c.cy)
    left = max(marks(sweep(), filled=True), key=lambda c: c.cy)
    assert hypot(found.cx - circle.cx, found.cy - circle.cy) > circle.r
    assert hypot(left.cx - circle.cx, left.cy - circle.cy) < circle.r


def test_an_arrow_leads_from_as_found_to_as_left():
    arrow_lines = [x for x in drawn(sweep(), Line) if x.strokeWidth == 1.4]
    alone = [x for x in drawn(sweep(as_left=None), Line) if x.strokeWidth == 1.4]
    assert (len(arrow_lines), len(alone)) == (1, 0)
    assert arrow_lines[0].x2 < arrow_lines[0].x1
    assert arrow_lines[0].y2 > arrow_lines[0].y1


def test_the_directions_stand_at_the_sides_of_the_dial():
    assert {"front", "rear", "up", "down"} <= set(words(sweep()))


def test_verdicts_stand_beside_the_figures_in_words():
    assert {"outside", "within"} <= set(words(sweep()))


def test_an_axis_far_outside_gets_the_centre_enlarged_and_the_tolerance_stays_visible():
    figure = sweep(as_found=AxisPosition(120, -80, COVARIANCE))
    circles = [c for c in drawn(figure, Circle) if c.strokeWidth == 2]
    assert [c.r > 3 for c in circles] == [True, True]
    assert "times larger" in " ".join(words(figure))


def test_a_tolerance_too_small_to_draw_says_so():
    figure = sweep(as_found=AxisPosition(2000, 0), as_left=None)
    assert tolerance_circle(figure).r == 3
    assert "tolerance 12.7\u00a0µm, drawn larger" in words(figure)


def test_scale_rings_fall_on_round_inches_for_a_person_who_works_in_inches():
    figure = sweep(format_length=inches, round_um=25.4, tolerance_um=None)
    assert '0.00050"' in words(figure)


def test_the_form_is_drawn_on_the_outer_ring_and_its_enlargement_said():
    residuals = tuple((45.0 * n, 0.4 * (-1) ** n) for n in range(8))
    figure = sweep(as_left=None, as_found=AxisPosition(1, 1, None, None, "", residuals))
    assert (
        "Outer ring: form of what was swept, as found, 0.8\u00a0µm in all, drawn 2 times its size"
        in " ".join(words(figure))
    )
    assert len(drawn(figure, PolyLine)) == 1


def test_a_perfectly_round_surface_draws_without_dividing_by_nothing():
    residuals = tuple((90.0 * n, 0.0) for n in range(4))
    assert words(sweep(as_left=AxisPosition(1, 1, None, None, "", residuals)))


def test_limits_for_one_direction_are_straight_lines():
    figure = sweep(tolerance_um=None, bands=(Band("front", -8, 8), Band("up", None, 20)))
    lines = [line for line in drawn(figure, Line) if line.strokeWidth == 1.6]
    assert [line.x1 == line.x2 for line in lines] == [True, True, False]
    assert (
        "Allowed: limits of 8.0\u00a0µm to the rear and 8.0\u00a0µm to the front and limits of "
        in figure.describe()
    )


def test_a_sweep_says_its_numbers_in_words():
    assert sweep().describe() == (
        "guide bushing housing: as found it stands off its datum by 15.8\u00a0µm: "
        "13.0\u00a0µm to the front, 9.0\u00a0µm down, outside and as left it stands off its "
        "datum by 3.6\u00a0µm: 2.0\u00a0µm to the rear, 3.0\u00a0µm up, within. "
        "Allowed: tolerance 12.7\u00a0µm."
    )


def test_a_station_not_swept_yet_still_has_a_picture():
    figure = sweep(as_found=None, as_left=None)
    assert figure.describe() == "guide bushing housing: not measured."
    assert tolerance_circle(figure).r > 50


def test_an_axis_dead_on_its_datum_has_no_direction():
    figure = sweep(as_found=AxisPosition(0, 0), as_left=None)
    assert "off its datum by 0.0\u00a0µm." in figure.describe()
    assert words(figure)


@settings(max_examples=25, deadline=None)
@given(
    right=st.floats(-1e6, 1e6, allow_nan=False),
    up=st.floats(-1e6, 1e6, allow_nan=False),
    tolerance=st.floats(0.5, 500),
)
def test_any_position_lies_inside_the_dial(right, up, tolerance):
    figure = sweep(as_found=AxisPosition(right, up), as_left=None, tolerance_um=tolerance)
    dial = max(drawn(figure, Circle), key=lambda c: c.r)
    mark = max(marks(figure, filled=False), key=lambda c: c.cy)
    assert hypot(mark.cx - dial.cx, mark.cy - dial.cy) <= dial.r


def test_values_within_the_limit_lie_below_its_line_and_those_outside_above():
    limit = next(line for line in drawn(series(), Line) if line.strokeWidth == 2)
    above = [mark.cy > limit.y1 for mark in marks(series(), filled=False)]
    assert above == [False, True, False]


def test_later_visits_lie_further_to_the_right():
    days = [mark.cx for mark in marks(series(), filled=False)]
    assert days == sorted(days)


def test_each_adjustment_is_a_drop_line_from_as_found_to_as_left():
    drops = [x for x in drawn(series(), Line) if x.strokeDashArray == [1.5, 2]]
    assert [(line.x1 == line.x2, line.y2 < line.y1) for line in drops] == [(True, True)] * 2


def test_drift_runs_from_what_was_left_to_what_was_found_next():
    drift = [x for x in drawn(series(), Line) if x.strokeWidth == 1.3 and not x.strokeDashArray]
    left = marks(series(), filled=True)
    found = marks(series(), filled=False)
    assert [(d.y1, d.y2) for d in drift] == [
        (left[0].cy, found[1].cy),
        (left[1].cy, found[2].cy),
    ]


def test_uncertainty_bars_reach_as_far_as_u():
    limit = next(line for line in drawn(series(), Line) if line.strokeWidth == 2)
    mark = marks(series(), filled=False)[0]
    points_per_um = (limit.y1 - mark.cy) / (12.7 - 6.0)
    bars = [x for x in drawn(series(), Line) if x.strokeWidth == 0.9 and x.x1 == x.x2 == mark.cx]
    assert bars[0].y2 - bars[0].y1 == pytest.approx(2 * 1.6 * points_per_um)


def test_a_crash_far_off_is_marked_at_the_edge_and_said_in_words():
    visits = (VisitValue(date(2024, 1, 5), 3, 2), VisitValue(date(2024, 8, 30), 400, 3))
    figure = series(visits=visits)
    assert figure.value_range[1] < 100
    assert len(marks(figure, filled=False)) == 1
    assert "Off the picture on 30 Aug 2024: as found 400.0\u00a0µm." in figure.notes


def test_limits_that_change_with_a_new_sheet_change_on_its_day():
    changed = (Tolerance(12.7, None), Tolerance(8.0, None, date(2024, 9, 1)))
    limits = [x for x in drawn(series(tolerances=changed), Line) if x.strokeWidth == 2]
    assert limits[0].x2 == limits[1].x1
    assert limits[0].y1 > limits[1].y1


def test_the_forecast_is_two_bands_the_narrow_one_in_front():
    bands = [p for p in drawn(series(forecast=forecast()), Polygon) if len(p.points) == 16]
    assert [band.fillColor for band in bands] == [LIGHT.faint, LIGHT.band]


def test_a_series_says_its_numbers_in_words():
    figure = series(factory_um=3.5, incidents=(IncidentMark(CRASH, "crash"),), forecast=forecast())
    assert figure.describe() == (
        "bore to headstock over 3 visits: 20 Nov 2023 as found 6.0\u00a0µm, as left 3.0\u00a0µm; "
        "30 Aug 2024 as found 21.0\u00a0µm, as left 2.5\u00a0µm; 2 Jun 2025 as found 5.0\u00a0µm. "
        "Tolerance: at most 12.7\u00a0µm. The factory's own figure was 3.5\u00a0µm. "
        "Incidents: crash on 28 Aug 2024. "
        "Forecast for 27 Feb 2026: 20.0\u00a0µm, with 95 % between 17.0\u00a0µm and 23.0\u00a0µm."
    )


@pytest.mark.parametrize(
    "visits",
    [
        (),
        (VisitValue(date(2024, 1, 5), 3.0),),
        (VisitValue(date(2024, 1, 5), 3.0), VisitValue(date(2024, 1, 5), None, 2.0)),
        (VisitValue(date(2024, 1, 5)), VisitValue(date(2024, 2, 5))),
        tuple(VisitValue(date(2000 + n, 1, 5), 0.0, 0.0) for n in range(30)),
    ],
    ids=["no visit", "one visit", "two on one day", "nothing measured", "thirty years of zeros"],
)
@pytest.mark.parametrize("tolerances", [(), (Tolerance(8, -8),), (Tolerance(None, 2),)])
def test_a_thin_record_still_draws(visits, tolerances):
    figure = series(visits=visits, tolerances=tolerances)
    assert to_svg(figure.drawing(), figure.item, figure.describe())


def test_a_wide_series_uses_the_room():
    assert series(width=720).drawing().width == 720


def test_a_track_is_solid_where_the_axis_drifted_and_dotted_where_it_was_moved():
    lines = [line for line in drawn(track(), Line) if line.strokeWidth == 1.3]
    assert [bool(line.strokeDashArray) for line in lines] == [False, True]


def test_a_track_numbers_its_visits_and_lists_them():
    shown = words(track())
    assert {"1", "2"} <= set(shown)
    assert "2. 30 Aug 2024: as found 8.5\u00a0µm" in shown


def test_a_long_track_lists_its_first_and_latest_visits():
    visits = tuple(TrackVisit(date(2000 + n, 1, 5), AxisPosition(n, 1)) for n in range(20))
    rows = [row for row in words(track(visits=visits)) if row[0].isdigit() and "as found" in row]
    assert rows[0].startswith("1. ")
    assert rows[-1].startswith("20. ")
    assert len(rows) == 12


def test_numbers_on_a_track_never_lie_on_one_another():
    visits = tuple(TrackVisit(date(2000 + n, 1, 5), AxisPosition(3, 1)) for n in range(20))
    numbers = [s for s in drawn(track(visits=visits), String) if s.text.isdigit() and s.x != 180]
    places = {(s.x, s.y) for s in numbers}
    assert len(places) == len(numbers)


def test_a_track_without_visits_says_so():
    assert track(visits=()).describe() == "sub-spindle: no visit has measured it yet."
    assert "Not measured yet." in words(track(visits=()))
