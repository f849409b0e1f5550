"""Saving a sweep: what is typed becomes a check, and what is wrong is said at its box."""

import uuid

import pytest

from alignment.sweeps.models import Check
from machines.visit_work.services import add_machine_to_visit
from shop.visits.services import correct_visit
from tests.factories import VisitFactory, item_of

from .conftest import sweep_url, typed

WITHIN = ["0.000", "-0.002", "0.000", "0.002"]


@pytest.fixture
def send(at_work, visit, bore):
    """Sends the sweep page's form with its save button."""

    def post(readings, *, follow=False, **said):
        data = typed(readings, **{"save": "check", **said})
        return at_work.post(sweep_url(visit, bore), data, follow=follow)

    return post


def wrong_with(response, box, field="reading"):
    return response.context["entry"].readings.forms[box].errors.get(field, [])


def test_a_saved_sweep_leads_to_its_check(send):
    response = send(WITHIN)
    check = Check.objects.get()
    assert response.status_code == 302
    assert response.url == check.get_absolute_url()


def test_a_bore_that_reads_low_on_the_right_lies_to_the_right(send):
    send(WITHIN)
    check = Check.objects.get()
    assert (round(check.right_um, 6), round(check.up_um, 6)) == (2.0, 0.0)
    assert check.verdict == "within"


def test_readings_are_kept_exactly_as_typed(send):
    send([".0001", "5 tenths", "-1.2 thou", "12 µm"], unit="in")
    readings = Check.objects.get().sweeps.get().readings
    assert list(readings.values_list("typed", flat=True)) == [
        ".0001",
        "5 tenths",
        "-1.2 thou",
        "12 µm",
    ]
    assert [float(um) for um in readings.values_list("value_um", flat=True)] == [
        2.54,
        12.7,
        -30.48,
        12.0,
    ]


def test_a_phase_note_and_settings_are_saved_with_it(send):
    send(WITHIN, phase="as left", note="second try", lever="15", reading_u="0.4 µm")
    check = Check.objects.get()
    sweep = check.sweeps.get()
    assert (check.phase, check.note) == ("as left", "second try")
    assert (sweep.lever_deg, float(sweep.reading_u_um)) == (15.0, 0.4)


@pytest.mark.parametrize(
    ("surface", "sag_on", "counted"),
    [("bore", "bore", -6), ("bore", "boss", 6), ("boss", "boss", -6), ("boss", "bore", 6)],
)
def test_a_sag_check_made_on_the_other_kind_of_surface_changes_its_sign(
    send, surface, sag_on, counted
):
    """The plunger turns round between a bar and a bore, so gravity pulls it the other way."""
    send(WITHIN, surface=surface, sag="-0.006", sag_on=sag_on)
    assert Check.objects.get().sweeps.get().sag_um == counted


def test_own_angles_are_taken_as_typed(send):
    send(["0.001", "0.002", "-0.001"], angles=["0", "100°", "222,5"])
    readings = Check.objects.get().sweeps.get().readings.all()
    assert [reading.angle_deg for reading in readings] == [0.0, 100.0, 222.5]


def test_360_degrees_is_the_top(send):
    send(["0.001", "0.002", "-0.001"], angles=["90", "180", "360"])
    assert Check.objects.get().sweeps.get().readings.first().angle_deg == 0.0


def test_blank_boxes_are_left_out_of_own_angles(send):
    send(["0.001", "", "0.002", "-0.001"], angles=["0", "", "120", "240"])
    assert Check.objects.get().sweeps.get().readings.count() == 3


@pytest.mark.parametrize(
    ("reading", "said"),
    [
        ("abc", "does not start with a number"),
        ("12 in mm", "names two units"),
        ("1000000", "longest length taken here"),
        ("1 km", "is not a unit used here"),
        ("1,234", "can be read in two ways"),
    ],
)
def test_a_wrong_reading_is_refused_at_its_box_and_stays_typed(send, reading, said):
    response = send([reading, "0", "0", "0"])
    assert response.status_code == 200
    assert said in wrong_with(response, 0)[0]
    assert f'value="{reading}"' in response.text
    assert not Check.objects.exists()


def test_a_reading_that_is_missing_is_asked_for_at_its_box(send):
    response = send(["0", "", "0", "0"])
    assert wrong_with(response, 1) == ["Type the reading at 90°."]


def test_an_angle_given_twice_is_refused_at_the_second(send):
    response = send(["1", "2", "3", "4"], angles=["0", "90", "90°", "180"])
    assert "90° is given twice" in wrong_with(response, 2, "angle")[0]
    assert wrong_with(response, 1, "angle") == []


def test_a_full_turn_and_the_top_are_the_same_angle(send):
    response = send(["1", "2", "3", "4"], angles=["0", "90", "180", "360"])
    assert "0° is given twice" in wrong_with(response, 3, "angle")[0]


def test_fewer_than_three_readings_are_refused(send):
    response = send(["1", "2", ""], angles=["0", "90", ""])
    assert "at least three readings; there are 2" in wrong_with(response, 2)[0]


@pytest.mark.parametrize("angle", ["-90", "361", "north", "9 o'clock"])
def test_what_is_no_angle_is_refused_at_its_box(send, angle):
    response = send(["1", "2", "3"], angles=["0", angle, "180"])
    assert "expected degrees from 0 to 360" in wrong_with(response, 1, "angle")[0]


def test_a_reading_without_its_angle_is_asked_for_the_angle(send):
    response = send(["1", "2", "3", "4"], angles=["0", "90", "180", ""])
    assert wrong_with(response, 3, "angle") == ["Type the angle at which this was read."]


def test_angles_that_stand_too_close_together_are_refused(send):
    response = send(["1", "2", "3"], angles=["0", "0.01", "0.02"])
    assert "too close together" in response.text
    assert not Check.objects.exists()


@pytest.mark.parametrize(
    ("field", "text", "said"),
    [
        ("lever", "90", "expected degrees from 0 to 89"),
        ("reading_u", "-0.001", "below zero"),
        ("reading_u", "2 mm", "longest length taken here"),
        ("sag", "about 1", "does not start with a number"),
        ("note", "x" * 201, "at most 200 characters"),
    ],
)
def test_a_wrong_setting_is_refused_at_its_field(send, field, text, said):
    response = send(WITHIN, **{field: text})
    assert said in response.context["form"].errors[field][0]
    assert text in response.text


def test_every_error_is_named_in_the_list_on_top_with_a_way_to_its_box(send):
    response = send(["0", "x", "0", "0"])
    assert '<a href="#id_readings-1-reading"><strong>Reading, 90°</strong>' in response.text


def test_a_form_sent_twice_makes_one_check(send):
    entry_id = str(uuid.uuid4())
    send(WITHIN, entry_id=entry_id)
    send(WITHIN, entry_id=entry_id)
    assert Check.objects.count() == 1


def test_as_found_is_refused_once_the_station_was_moved(send, moved):
    moved()
    response = send(WITHIN)
    assert "already adjusted at this visit" in response.text
    assert 'value="0.002"' in response.text


def test_a_refused_sweep_still_shows_what_it_comes_to(send, moved):
    moved()
    assert send(WITHIN).context["trial"].measured.verdict == "within"


def test_a_signed_visit_takes_no_sweep(send, taken_up, signed):
    signed(taken_up)
    assert "no longer changes" in send(WITHIN).text
    assert not Check.objects.exists()


def test_the_page_of_a_signed_visit_leads_back_to_it(at_work, taken_up, bore, signed):
    signed(taken_up)
    response = at_work.get(sweep_url(taken_up, bore), follow=True)
    assert response.redirect_chain[-1][0] == taken_up.get_absolute_url()
    assert "Enter a correction instead" in response.text


def test_an_item_that_is_no_longer_in_force_is_refused(send, bore):
    bore.sheet.is_current = False
    bore.sheet.save()
    assert "no longer in force" in send(WITHIN).text


class TestFreshPage:
    """What stands on the page before anything is typed."""

    @pytest.fixture
    def page(self, at_work, taken_up, bore):
        return lambda item=bore, **query: at_work.get(sweep_url(taken_up, item, **query))

    def said(self, response, name):
        return response.context["form"][name].value()

    def test_it_begins_as_found_where_nothing_was_measured_or_moved(self, page):
        assert self.said(page(), "phase") == "as found"

    def test_it_goes_on_as_left_once_it_was_measured_as_found(self, page, sweep_of, bore):
        sweep_of(bore)
        assert self.said(page(), "phase") == "as left"

    def test_it_goes_on_as_left_once_its_datum_was_moved(self, page, moved):
        moved("headstock")
        assert self.said(page(), "phase") == "as left"

    def test_the_address_may_name_the_phase(self, page):
        assert self.said(page(phase="as left"), "phase") == "as left"

    def test_it_takes_the_unit_of_the_machine_s_sheet_whoever_looks(self, page, contractor, bore):
        """0.0004 in is 10.16 µm, which no metric sheet asks for."""
        contractor.length_unit = "mm"
        contractor.save()
        bore.sheet.items.update(upper_um="10.16", lower_um=None)
        response = page()
        assert (response.context["entry"].unit, self.said(response, "reading_u")) == (
            "in",
            "0.00005",
        )
        assert "0.01016" not in response.text

    def test_it_takes_the_person_s_unit_where_the_sheet_has_no_limits(self, page, contractor, bore):
        contractor.length_unit = "in"
        contractor.save()
        bore.sheet.items.update(upper_um=None, lower_um=None)
        assert page().context["entry"].unit == "in"

    def test_it_takes_the_surface_of_the_item(self, page, machine):
        assert self.said(page(item_of(machine, "gang tools")), "surface") == "boss"

    def test_settings_of_the_last_sweep_need_not_be_typed_again(self, page, send):
        send(WITHIN, lever="12", sag="-0.004", sag_on="boss", reading_u="0.7 µm")
        response = page()
        assert [self.said(response, n) for n in ("lever", "sag", "sag_on", "reading_u")] == [
            "12",
            "-0.004",
            "boss",
            "0.7 µm",
        ]

    def test_it_names_what_is_missing(self, page):
        assert "Still missing: 0°, 90°, 180°, 270°." in page().text

    def test_the_way_to_lock_out_is_shown(self, page):
        assert "Lock out and discharge the machine" in page().text


class TestBoxesLaidOutAnew:
    """The buttons that change layout and unit; they work without a script."""

    @pytest.fixture
    def show(self, at_work, taken_up, bore):
        def post(readings, wish, **said):
            data = typed(readings, show=wish, **said)
            return at_work.post(sweep_url(taken_up, bore), data).context["entry"]

        return post

    def boxes(self, entry):
        return [(form["angle"].value(), form["reading"].value()) for form in entry.readings]

    def test_eight_points_keep_the_four_that_were_read(self, show):
        entry = show(["1", "2", "3", "4"], "layout:8")
        assert [reading for _, reading in self.boxes(entry)] == ["1", "", "2", "", "3", "", "4", ""]

    def test_own_angles_begin_with_what_was_read(self, show):
        boxes = self.boxes(show(["1", "", "3", "4"], "layout:own"))
        assert boxes == [("0", "1"), ("180", "3"), ("270", "4"), ("", ""), ("", ""), ("", "")]

    def test_four_points_refuse_to_lose_a_reading(self, at_work, taken_up, bore):
        data = typed(["1", "2", "3", "4", "5", "6", "7", "8"], show="layout:4")
        response = at_work.post(sweep_url(taken_up, bore), data)
        assert "no box for the reading at 45°, 135°, 225°, 315°" in response.text
        assert response.context["entry"].layout == "8"

    def test_more_boxes_keep_those_that_are_there(self, show):
        entry = show(["1", "2"], "more:", angles=["10", "20"])
        assert self.boxes(entry)[:3] == [("10", "1"), ("20", "2"), ("", "")]

    def test_another_unit_stands_beside_the_boxes(self, show):
        entry = show(["1", "2", "3", "4"], "unit:in")
        assert (entry.unit, entry.unit_symbol) == ("in", "in")

    def test_another_unit_leaves_the_settings_as_long_as_they_were(self, show):
        entry = show(["1", "2", "3", "4"], "unit:in", reading_u="0.0005", sag="-6 µm")
        assert (entry.form["reading_u"].value(), entry.form["sag"].value()) == (
            "0.0005 mm",
            "-6 µm",
        )

    @pytest.mark.parametrize("wish", ["layout:7", "unit:furlong", "more:", "", "layout:"])
    def test_a_wish_that_makes_no_sense_changes_nothing(self, show, wish):
        entry = show(["1", "2", "3", "4"], wish)
        assert [reading for _, reading in self.boxes(entry)] == ["1", "2", "3", "4"]

    def test_nothing_is_saved(self, show):
        show(["1", "2", "3", "4"], "layout:8")
        assert not Check.objects.exists()


def test_work_it_out_shows_the_result_without_saving(at_work, visit, bore):
    response = at_work.post(sweep_url(visit, bore), typed(WITHIN, work="out"))
    assert "Offset of the axis" in response.text
    assert not Check.objects.exists()


class TestCorrecting:
    """A signed check is corrected at a visit of its own."""

    @pytest.fixture
    def old(self, sweep_of, bore, taken_up, signed):
        check = sweep_of(bore, 4, -3, note="by lamp light")
        signed(taken_up)
        return check

    @pytest.fixture
    def correction(self, old, taken_up, contractor, firm):
        taken_up.refresh_from_db()
        return correct_visit(taken_up, made_by=contractor, firm=firm, reason="a slip")

    def test_the_readings_stand_typed_again(self, at_work, old, correction, bore):
        entry = at_work.get(sweep_url(correction, bore, corrects=old.pk)).context["entry"]
        assert [form["reading"].value() for form in entry.readings] == [
            "3.0",
            "-4.0",
            "-3.0",
            "4.0",
        ]
        assert (entry.unit, entry.form["note"].value()) == ("um", "by lamp light")

    def test_the_correction_names_what_it_corrects(self, at_work, old, correction, bore):
        data = typed(WITHIN, save="check", phase="as left")
        at_work.post(sweep_url(correction, bore, corrects=old.pk), data)
        new = Check.objects.exclude(pk=old.pk).get()
        assert (new.corrects, new.visit, new.phase) == (old, correction, "as found")

    def test_a_check_of_another_visit_is_not_corrected_here(
        self, at_work, old, shop, firm, contractor, machine, bore
    ):
        later = VisitFactory(shop=shop, firm=firm, contractor=contractor)
        add_machine_to_visit(later, machine)
        assert at_work.get(sweep_url(later, bore, corrects=old.pk)).status_code == 404

    def test_a_check_of_another_item_is_not_corrected_here(self, at_work, old, correction, machine):
        other = item_of(machine, "sub-spindle")
        assert at_work.get(sweep_url(correction, other, corrects=old.pk)).status_code == 404

    @pytest.mark.parametrize("pk", ["0", "x", "-1"])
    def test_what_is_no_check_is_not_corrected(self, at_work, correction, bore, pk):
        assert at_work.get(sweep_url(correction, bore, corrects=pk)).status_code == 404
