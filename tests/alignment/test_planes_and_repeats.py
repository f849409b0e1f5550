"""Sweeps in several planes and repeats on the sweep page: what goes in, what comes out."""

from decimal import Decimal

import pytest

from alignment.sheets.models import AcceptanceItem
from alignment.sweeps.models import Check
from tests.alignment.conftest import sweep_url, typed
from tests.factories import station_of

RIGHT_5 = ["0", "-0.005", "0", "0.005"]  # a bore whose centre stands 5 µm to the right, in mm
RIGHT_1 = ["0", "-0.001", "0", "0.001"]


@pytest.fixture
def tilt(machine):
    """The tilt of the guide bushing's bore: at most 10 µm per 100 mm."""
    sheet = machine.sheets.get(is_current=True)
    return AcceptanceItem.objects.create(
        sheet=sheet,
        station=station_of(machine, "guide bushing"),
        position=50,
        name="bore, tilt",
        quantity="tilt",
        surface="bore",
        upper_um=Decimal(10),
    )


def sets(*planes, **said):
    """What a browser sends for sweeps (plane, readings) one under the other."""
    data = typed(planes[0][1], **said) | {"sets": len(planes), "save": "check"}
    for number, (plane, readings) in enumerate(planes):
        prefix = "readings" if number == 0 else f"readings{number + 1}"
        data |= {f"{prefix}-z": plane, f"{prefix}-TOTAL_FORMS": 4, f"{prefix}-INITIAL_FORMS": 0}
        data |= {f"{prefix}-{n}-reading": reading for n, reading in enumerate(readings)}
    return data


def test_a_bore_swept_near_and_far_gives_its_tilt(at_work, taken_up, tilt):
    """1 µm right near, 5 µm right 80 mm further: 4 µm in 80 mm is 5 µm per 100 mm."""
    at_work.post(sweep_url(taken_up, tilt), sets(("0", RIGHT_1), ("80", RIGHT_5)))
    check = Check.objects.get(typed_with=None)
    assert check.value_um == pytest.approx(5)
    assert check.right_um == pytest.approx(5)
    assert [sweep.z_mm for sweep in check.sweeps.all()] == [0, 80]


def test_the_expanded_uncertainty_of_a_tilt_follows_from_that_of_a_reading(at_work, taken_up, tilt):
    """u 0.5 µm a reading; four readings give 0.5·√(2/4) = 0.354 µm a centre, two centres √2 of it,
    0.5 µm over 80 mm: 0.625 µm per 100 mm; k = 2.00 for 95.45 % (JCGM 100, table G.2)."""
    at_work.post(sweep_url(taken_up, tilt), sets(("0", RIGHT_1), ("80", RIGHT_5)))
    check = Check.objects.get(typed_with=None)
    assert check.u_um == pytest.approx(0.625)
    assert check.coverage == pytest.approx(2.0, abs=1e-4)


def test_one_plane_gives_no_tilt_and_is_told_so(at_work, taken_up, tilt):
    response = at_work.post(sweep_url(taken_up, tilt), sets(("0", RIGHT_1)))
    assert not Check.objects.exists()
    assert "Add a plane" in response.text


def test_two_sweeps_at_one_plane_are_no_tilt(at_work, taken_up, tilt):
    response = at_work.post(sweep_url(taken_up, tilt), sets(("10", RIGHT_1), ("10", RIGHT_5)))
    assert not Check.objects.exists()
    assert "at least two planes" in response.text


def test_a_tilt_without_its_planes_is_asked_for_them(at_work, taken_up, tilt):
    response = at_work.post(sweep_url(taken_up, tilt), sets(("0", RIGHT_1), ("", RIGHT_5)))
    assert not Check.objects.exists()
    assert "Type at which plane" in response.text
    assert 'value="0.005"' in response.text


def test_a_fresh_tilt_has_two_planes_to_fill(at_work, taken_up, tilt):
    assert len(at_work.get(sweep_url(taken_up, tilt)).context["entry"].sets) == 2


def test_the_planes_swept_last_stand_there_again(at_work, taken_up, tilt):
    at_work.post(sweep_url(taken_up, tilt), sets(("12.5", RIGHT_1), ("80", RIGHT_5)))
    entry = at_work.get(sweep_url(taken_up, tilt)).context["entry"]
    assert [one.plane["z"].value() for one in entry.sets] == ["12.5", "80"]


class TestRepeats:
    def test_one_tap_adds_an_empty_sweep_and_keeps_what_was_typed(self, at_work, taken_up, bore):
        data = typed(RIGHT_5) | {"show": "repeat:0"}
        entry = at_work.post(sweep_url(taken_up, bore), data).context["entry"]
        first, second = entry.sets
        assert [box["reading"].value() for box in first.readings] == RIGHT_5
        assert [box["reading"].value() for box in second.readings] == [""] * 4

    def test_a_sweep_can_be_left_out_again(self, at_work, taken_up, bore):
        data = sets(("", RIGHT_5), ("", RIGHT_1)) | {"show": "drop:0"}
        data.pop("save")
        (left,) = at_work.post(sweep_url(taken_up, bore), data).context["entry"].sets
        assert [box["reading"].value() for box in left.readings] == RIGHT_1

    def test_repeats_count_by_their_mean(self, at_work, taken_up, bore):
        at_work.post(sweep_url(taken_up, bore), sets(("", RIGHT_5), ("", RIGHT_1)))
        assert Check.objects.get(typed_with=None).value_um == pytest.approx(3)

    def test_repeats_that_differ_widen_the_uncertainty(self, at_work, taken_up, bore):
        """Centres 5 and 1 µm right: a standard deviation of √(2·2²/2) = 2 µm with two degrees of
        freedom (two directions), so 2/√2 = 1.41 µm of the mean; readings add 0.5·√(2/4)/√2."""
        at_work.post(sweep_url(taken_up, bore), sets(("", RIGHT_5), ("", RIGHT_1)))
        assert Check.objects.get(typed_with=None).u_um == pytest.approx((2.0 + 0.0625) ** 0.5)

    def test_the_check_shows_the_readings_of_both(self, at_work, taken_up, bore):
        at_work.post(sweep_url(taken_up, bore), sets(("", RIGHT_5), ("", RIGHT_1)))
        page = at_work.get(Check.objects.get(typed_with=None).get_absolute_url())
        assert [one["heading"] for one in page.context["sets"]] == ["Sweep 1", "Sweep 2"]
        assert any(row.name == "repeatability" for row in page.context["budget"])


def test_a_tilt_has_a_picture_of_its_axis_along_z(at_work, taken_up, tilt):
    at_work.post(sweep_url(taken_up, tilt), sets(("0", RIGHT_1), ("80", RIGHT_5)))
    check = Check.objects.get(typed_with=None)
    page = at_work.get(check.get_absolute_url())
    assert "at z = 80 mm" in page.context["alt"]
    picture = at_work.get(f"{check.get_absolute_url()}picture.svg")
    assert picture["Content-Type"] == "image/svg+xml"


def test_the_live_result_of_a_tilt_leads_to_its_picture(at_work, taken_up, tilt):
    data = sets(("0", RIGHT_1), ("80", RIGHT_5))
    live = at_work.post(sweep_url(taken_up, tilt, "try_sweep"), data)
    assert at_work.get(live.context["picture"])["Content-Type"] == "image/svg+xml"


@pytest.mark.parametrize("line", ["", "0:1:1", "0:1:1,0:2:2", "0:1,80:2", "0:a:1,80:1:1"])
def test_a_picture_of_a_line_that_is_none_is_refused(at_work, taken_up, tilt, line):
    address = sweep_url(
        taken_up, tilt, "try_picture", line=line, phase="as found", unit="mm", right="1", up="1"
    )
    assert at_work.get(address).status_code == 400


def test_a_tilt_is_written_per_its_stated_length(at_work, taken_up, tilt):
    at_work.post(sweep_url(taken_up, tilt), sets(("0", RIGHT_1), ("80", RIGHT_5)))
    text = at_work.get(taken_up.get_absolute_url()).text
    assert "0.005 mm per 100 mm" in text
    assert "up to 0.01 mm, per 100 mm" in text


IN_INCHES = ["0", "-.0002", "0", ".0002"]


@pytest.mark.parametrize(
    ("plane", "z_mm"), [("2", Decimal("50.8")), ("50.8 mm", Decimal("50.8")), (".5", "12.7")]
)
def test_a_plane_typed_in_an_inch_form_is_in_inches(at_work, taken_up, tilt, plane, z_mm):
    """1 in = 25.4 mm exactly; a unit typed behind the number goes before the form's."""
    sent = sets(("0", ["0", "0", "0", "0"]), (plane, IN_INCHES), unit="in")
    at_work.post(sweep_url(taken_up, tilt), sent)
    sweeps = Check.objects.get(typed_with=None).sweeps.all()
    assert [sweep.z_mm for sweep in sweeps] == [0, Decimal(z_mm)]


def test_the_planes_of_the_last_sweep_come_back_in_the_forms_unit(at_work, taken_up, tilt):
    sent = sets(("0", ["0", "0", "0", "0"]), ("2", IN_INCHES), unit="in")
    at_work.post(sweep_url(taken_up, tilt), sent)
    page = at_work.get(sweep_url(taken_up, tilt)).text
    assert 'name="readings2-z" value="2"' in page.replace("\n", " ") or 'value="2"' in page
    assert "in unless you type another unit" in page


def test_planes_keep_their_length_when_the_forms_unit_is_changed(at_work, taken_up, tilt):
    sent = sets(("0", RIGHT_1), ("80", RIGHT_5)) | {"show": "unit:in"}
    del sent["save"]
    page = at_work.post(sweep_url(taken_up, tilt), sent).text
    assert 'value="80 mm"' in page
