"""The result as readings are typed, held against worked examples of the trade."""

import pytest

from alignment.sheets.models import AcceptanceItem
from machines.drive.models import Thresholds
from tests.pages import tight

from .conftest import sweep_url, typed


@pytest.fixture
def attempt(at_work, visit, bore):
    """Sends what was typed so far, as the page does after each reading."""

    def post(readings, item=bore, **said):
        said = {"reading_u": "0.5 µm"} | said
        return at_work.post(sweep_url(visit, item, "try_sweep"), typed(readings, **said))

    return post


def shown(response):
    """Label to value of the figures on the page."""
    return {figure.label: figure.value for figure in response.context["figures"]}


def test_it_shows_the_offset_of_a_housing_bore_swept_in_inches(attempt):
    """Readings of the flywheel housing example at dieselmechanic.info (12h +0.003, 3h −0.002,
    6h 0, 9h +0.004 in); the offset is their first harmonic, worked out by hand: right (front)
    (0.004 + 0.002)/2 = 0.003, down 0.003/2, together 0.0033541 in; closure 0.003 − 0.002."""
    figures = shown(attempt(["0.003", "-.002", "0", "4 thou"], unit="in"))
    assert figures["Offset of the axis"] == "0.0034 in"
    assert (figures["To the front"], figures["Down"]) == ("0.0030 in", "0.0015 in")
    assert (figures["TIR"], figures["Closure"]) == ("0.0060 in", "+0.0010 in")


def test_the_offset_is_half_the_tir_when_the_high_spot_is_read(attempt):
    """Divide the TIR by two: Carrier 17/19EX service manual, p. 216."""
    figures = shown(attempt(["0.002 in", "0", "-.002 in", "0"], unit="in"))
    assert (figures["TIR"], figures["Offset of the axis"]) == ("0.00400 in", "0.00200 in")


def test_half_a_thousandth_of_an_inch_is_12_7_micrometres(attempt):
    """1 in = 25.4 mm exactly (international inch, 1959)."""
    figures = shown(attempt([".0005 in", "0", "-.0005 in", "0"], unit="um"))
    assert figures["Offset of the axis"] == "12.7 µm"


def test_a_lever_at_sixty_degrees_reads_twice_the_offset(attempt):
    """0.010 in read at 60° is 0.005 in: the cosine tables at cncexpo.com and cnccookbook.com."""
    figures = shown(attempt(["0.010", "0", "-0.010", "0"], unit="in", lever="60"))
    assert figures["Offset of the axis"] == "0.00500 in"


def test_sag_on_a_bar_is_taken_off_the_bottom_reading(attempt):
    """Bottom −0.010 in, sag −0.006 in: −0.004 in is left, an offset of 0.002 in (from memory, a
    synthetic case; the sides read half of the bottom)."""
    readings = ["0", "-0.005", "-0.010", "-0.005"]
    figures = shown(attempt(readings, unit="in", surface="boss", sag="-0.006", sag_on="boss"))
    assert figures["Offset of the axis"] == "0.00200 in"


def test_four_readings_that_do_not_close_are_told_to_be_swept_again(attempt):
    """The sample readings of US Army TM 10-3930-664-24, p. 3-41: TIR 0.005 in as printed, but
    (0 − 0.002) − (0.003 + 0.003) = −0.008 in left over: no bore reads so."""
    response = attempt(["0", "0.003", "-0.002", "0.003"], unit="in", reading_u="0.0001")
    assert shown(response)["TIR"] == "0.0050 in"
    assert shown(response)["Closure"] == "-0.0080 in"
    assert "Top and bottom differ from right and left by 0.00800 in" in response.text


def test_a_sweep_that_closes_is_not_called_bad(attempt):
    assert "do not close" not in attempt(["0.002", "0", "-0.002", "0.0005"]).text


@pytest.mark.parametrize(
    ("offset_um", "verdict"),
    [(9.1, "within"), (9.2, "not proven"), (10.8, "not proven"), (10.9, "outside")],
)
def test_the_verdict_keeps_the_guard_band(attempt, offset_um, verdict):
    """ISO 14253-1 with a tolerance of 10 µm: one reading of u = 0.707 µm gives an offset from four
    readings of u·√(2/4) = 0.5 µm, so the guard band for 95 % one-sided is 1.645·0.5 = 0.82 µm."""
    response = attempt([f"-{offset_um} µm", "0", f"{offset_um} µm", "0"], reading_u="0.7071 µm")
    assert response.context["trial"].measured.verdict == verdict


def test_the_move_is_the_offset_turned_round(attempt):
    assert attempt(["-0.004", "-0.003", "0.004", "0.003"]).context["move"] == (
        "0.0030 mm to the rear and 0.0040 mm down"
    )


def test_a_surface_that_runs_true_needs_no_move(attempt):
    response = attempt(["0", "0", "0", "0"])
    assert response.context["move"] == ""
    assert "has to go" not in response.text


def test_what_is_still_missing_is_named(attempt):
    response = attempt(["0.001", "", "0.002", ""])
    assert "Still missing: 90°, 270°." in response.text


def test_own_angles_say_how_many_readings_are_missing(attempt):
    response = attempt(["0.001", "", ""], angles=["10", "80", ""])
    assert response.context["trial"].missing == ("80°", "1 more reading at 1 more angle")


@pytest.mark.parametrize("begun", ["-", "+", ".", "-.", "−"])
def test_a_sign_alone_is_not_yet_wrong(attempt, begun):
    response = attempt([begun, "0", "0", "0"])
    assert response.context["trial"].missing == ("0°",)
    assert "does not start with a number" not in response.text


def test_letters_are_refused_at_their_box_as_they_are_typed(attempt):
    response = attempt(["0", "x", "", ""])
    box = response.text.partition('id="readings-1-wrong"')[2].partition("</ul>")[0]
    assert "does not start with a number" in box


def test_the_other_boxes_say_nothing_is_wrong(attempt):
    response = attempt(["0", "x", "", ""])
    box = response.text.partition('id="readings-0-wrong"')[2].partition("</ul>")[0]
    assert "Error" not in box


def test_angles_too_close_together_are_told(attempt):
    response = attempt(["1", "2", "3"], angles=["0", "0.01", "0.02"])
    assert "too close together" in response.context["trial"].problem


def test_three_readings_without_an_uncertainty_prove_nothing(attempt):
    response = attempt(["0.001", "0", "0"], angles=["0", "120", "240"], reading_u="")
    assert response.context["trial"].measured.verdict == "not proven"
    assert "Nothing is proven yet: choose the indicator" in response.text
    assert shown(response)["Uncertainty u"] == "not known"


def test_scatter_beyond_the_stated_uncertainty_is_told(attempt):
    readings = ["0.010", "0", "-0.004", "0.006", "0.001", "-0.009", "0.008", "0"]
    assert "scatter more than the uncertainty typed" in attempt(readings).text


def test_a_screen_reader_hears_the_verdict_and_the_figure(attempt):
    said = attempt(["0.002", "0", "-0.002", "0"]).text.partition('id="live-said"')[2]
    assert tight("Within. Offset of the axis 0.0020 mm.") in tight(said)


def test_the_picture_is_fetched_from_its_own_address(at_work, attempt):
    response = attempt(["0.002", "0.001", "-0.002", "0"])
    picture = at_work.get(response.context["picture"])
    assert (picture.status_code, picture["Content-Type"]) == (200, "image/svg+xml")
    assert response.context["alt"] in picture.text.replace("&amp;", "&")


def test_the_picture_as_left_shows_where_it_was_found_too(attempt, sweep_of, bore):
    sweep_of(bore, 30, 40)
    said = attempt(["0.002", "0", "-0.002", "0"], phase="as left").context["alt"]
    assert "as found it stands off its datum by 0.0500 mm" in said
    assert "as left it stands off its datum by 0.0020 mm" in said


@pytest.mark.parametrize(
    "query",
    [
        {},
        {"front": "nan"},
        {"up": "1e400"},
        {"front": "9999999"},
        {"covariance": "1,2"},
        {"covariance": "1,5,1"},
        {"covariance": "-1,0,1"},
        {"dof": "0"},
        {"residuals": "0:x"},
        {"unit": "furlong"},
        {"phase": "as hoped"},
        {"verdict": "fine"},
    ],
)
def test_an_address_that_cannot_be_drawn_is_refused(at_work, visit, bore, query):
    whole = {"front": "1", "up": "2", "phase": "as found", "unit": "mm"} if query else {}
    response = at_work.get(sweep_url(visit, bore, "try_picture"), whole | query)
    assert response.status_code == 400


@pytest.mark.parametrize("palette", ["light", "dark", "print", "plaid", ""])
def test_a_picture_comes_in_each_palette(at_work, visit, bore, palette):
    figures = {"front": "1", "up": "2", "phase": "as found", "unit": "um", "palette": palette}
    assert at_work.get(sweep_url(visit, bore, "try_picture"), figures).status_code == 200


def test_trying_saves_nothing_and_leaves_the_visit_planned(attempt, visit):
    attempt(["0.002", "0", "-0.002", "0"])
    visit.refresh_from_db()
    assert (visit.checks.count(), visit.state) == (0, "planned")


def test_trying_by_address_alone_is_refused(at_work, visit, bore):
    assert at_work.get(sweep_url(visit, bore, "try_sweep")).status_code == 405


def test_junk_in_the_boxes_count_is_no_server_error(at_work, visit, bore):
    data = typed(["1", "2", "3"], angles=["0", "90", "180"])
    for count in ("", "x", "-1", "99999999999", "1e3"):
        data["readings-TOTAL_FORMS"] = count
        for name in ("try_sweep", "sweep"):
            response = at_work.post(sweep_url(visit, bore, name), data | {"show": "more:"})
            assert response.status_code == 200


def test_an_empty_post_is_no_server_error(at_work, visit, bore):
    for name in ("try_sweep", "sweep"):
        assert at_work.post(sweep_url(visit, bore, name), {}).status_code == 200
        assert at_work.post(sweep_url(visit, bore, name), {"save": "x"}).status_code == 200


@pytest.fixture
def run_out(machine):
    """The headstock's run-out, up to 5 µm."""
    return AcceptanceItem.objects.get(sheet__machine=machine, quantity="tir")


class TestFormThatReadingsCannotShow:
    THREE = (["-0.002", "0.001", "0.001"], ["0", "120", "240"])

    def test_three_readings_show_no_form_and_prove_nothing(self, attempt):
        """Any three readings fit an offset exactly: three unknowns, three figures."""
        readings, angles = self.THREE
        response = attempt(readings, angles=angles)
        assert shown(response)["Out-of-round"] == "–"
        assert response.context["trial"].measured.verdict == "not proven"
        assert response.context["probability"] == ""
        assert "Sweep four points or more" in response.text

    def test_with_a_stated_out_of_round_they_are_judged(self, attempt):
        readings, angles = self.THREE
        response = attempt(readings, angles=angles, form="0.001")
        assert response.context["trial"].measured.verdict == "within"
        assert "form between the points" in {
            part.name for part in response.context["trial"].measured.budget.components
        }

    def test_a_run_out_from_four_points_says_how_many_settle_it(self, attempt, run_out):
        four = attempt(["0.001", "0", "-0.001", "0"], item=run_out)
        assert four.context["trial"].measured.verdict == "not proven"
        assert "Sweep 8 points" in four.text

    def test_eight_points_settle_it(self, attempt, run_out):
        readings = ["0.001", "0.0007", "0", "-0.0007", "-0.001", "-0.0007", "0", "0.0007"]
        response = attempt(readings, item=run_out)
        assert response.context["trial"].measured.verdict == "within"
        assert shown(response)["Total indicator reading"] == "0.002 mm"


def test_the_shop_chooses_the_decision_rule(attempt, visit):
    """9.1 µm of 10 with u = 0.5 µm: inside 1.645·u, not inside 2·u."""
    Thresholds.objects.create(shop=visit.shop, decision_rule=Thresholds.Rule.EXPANDED)
    response = attempt(["-9.1 µm", "0", "9.1 µm", "0"], reading_u="0.7071 µm")
    assert response.context["trial"].measured.verdict == "not proven"
    assert shown(response)["Guard band"] == "0.0010 mm"
