"""What readings count in, and what is asked about before it counts."""

import pytest

from alignment.sweeps.models import Check, Indicator
from tests.alignment.conftest import sweep_url, typed


@pytest.fixture
def send(at_work, taken_up, bore):
    return lambda readings, name="sweep", **said: at_work.post(
        sweep_url(taken_up, bore, name), typed(readings, **said)
    )


@pytest.fixture
def dial(firm):
    """A dial of half a thou a division that travels an eighth of an inch."""
    return Indicator.objects.create(
        firm=firm, name="half thou", serial="1", unit="in",
        resolution_um="12.7", resolution_typed=".0005", error_um=0, error_typed="0",
        range_um="3175", range_typed=".125",
    )  # fmt: skip


def boxes(response):
    return [form["reading"].value() for form in response.context["entry"].readings]


class TestCounting:
    def test_bare_numbers_count_in_tenths_and_are_kept_as_such(self, send):
        send(["0", "11", "8", "3-"], counts_in="tenths", save="check")
        readings = Check.objects.get().sweeps.get().readings
        assert list(readings.values_list("typed", flat=True)) == [
            "0 tenths",
            "11 tenths",
            "8 tenths",
            "3- tenths",
        ]
        assert [float(um) for um in readings.values_list("value_um", flat=True)] == [
            0,
            27.94,
            20.32,
            -7.62,
        ]

    def test_divisions_are_those_of_the_chosen_dial(self, send, dial):
        send(["0", "1", "-1", "0"], counts_in="div", indicator=dial.pk, save="check")
        reading = Check.objects.get().sweeps.get().readings.all()[1]
        assert (float(reading.value_um), reading.typed) == (12.7, "1 div of 0.0005 in")

    def test_divisions_of_no_dial_are_refused_with_what_to_do(self, send):
        response = send(["0", "1", "-1", "0"], counts_in="div", save="check")
        assert "Choose the indicator first" in response.text
        assert boxes(response) == ["0", "1", "-1", "0"]

    def test_the_next_sweep_counts_as_the_last_did(self, send, at_work, taken_up, bore):
        send(["0", "1", "1", "0"], counts_in="tenths", save="check")
        entry = at_work.get(sweep_url(taken_up, bore)).context["entry"]
        assert entry.counts.unit == "tenths"

    def test_with_nothing_typed_nothing_is_asked(self, send):
        response = send(["", "", "", ""], show="count:thou")
        assert response.context["question"] is None
        assert response.context["entry"].counts.unit == "thou"

    def test_numbers_that_are_typed_are_asked_about(self, send):
        response = send(["0", "11", "5 µm", ""], show="count:thou")
        assert "What is 11?" in response.text
        assert (boxes(response), response.context["entry"].counts.unit) == (
            ["0", "11", "5 µm", ""],
            "mm",
        )

    def test_numbers_may_stay_and_count_anew(self, send):
        response = send(["0", "11", "5 µm", ""], show="count:thou:stay")
        assert (boxes(response), response.context["entry"].counts.unit) == (
            ["0", "11", "5 µm", ""],
            "thou",
        )

    def test_numbers_may_keep_the_length_they_had(self, send):
        response = send(["0", "11", "5 µm", "x"], show="count:thou:keep")
        assert boxes(response) == ["0 mm", "11 mm", "5 µm", "x"]

    def test_figures_in_another_unit_leave_the_readings_alone(self, send):
        response = send(["0", "0.011", "0.002", "0"], show="unit:in")
        entry = response.context["entry"]
        assert (entry.unit, entry.counts.unit) == ("in", "mm")
        assert boxes(response) == ["0", "0.011", "0.002", "0"]

    @pytest.mark.parametrize("wish", ["count:furlong", "count:", "count:mm:keep", "reads:um:x"])
    def test_a_wish_that_makes_no_sense_changes_nothing(self, send, wish):
        assert boxes(send(["1", "2", "3", "4"], show=wish)) == ["1", "2", "3", "4"]


class TestDoubt:
    """The housing's bore is held to 10 µm."""

    def test_millimetres_meant_as_micrometres_are_asked_about(self, send, sweep_of, bore):
        sweep_of(bore, 6.0)
        response = send(["0", "3.000", "0.004", "0"], phase="as left", save="check")
        assert "3.000 mm at 90°" in response.text
        assert "3.000 µm" in response.text
        assert boxes(response) == ["0", "3.000", "0.004", "0"]
        assert Check.objects.count() == 1

    def test_one_tap_reads_it_in_that_unit(self, send):
        shown = send(["0", "3.000", "0.004", "0"], save="check")
        wish = shown.context["doubt"].ways[0][0]
        assert boxes(send(["0", "3.000", "0.004", "0"], show=wish)) == [
            "0",
            "3.000 µm",
            "0.004",
            "0",
        ]

    def test_said_to_be_right_it_counts(self, send):
        typed_in = ["0", "3.000", "0.004", "0"]
        sure = send(typed_in, save="check").context["doubt"].sure
        told = send(typed_in, show=f"sure:{sure}").context["form"]["sure"].value()
        send(typed_in, sure=told, save="check")
        assert Check.objects.get().sweeps.get().readings.filter(value_um=3000).exists()

    def test_changed_since_it_is_asked_about_again(self, send):
        sure = send(["0", "3.000", "0", "0"], save="check").context["doubt"].sure
        send(["0", "4.000", "0", "0"], sure=sure, save="check")
        assert not Check.objects.exists()

    def test_a_reading_beyond_the_dial_is_asked_about_whatever_is_usual(self, send, dial, bore):
        bore.upper_um = 1000
        bore.save()
        response = send(["0", "4", "0", "0"], indicator=dial.pk, save="check")
        assert response.context["doubt"].names == ("readings-1-reading",)

    def test_ten_times_the_tolerance_is_still_believed(self, send):
        send(["0", "0.1", "0", "-0.1"], save="check")
        assert Check.objects.exists()

    def test_a_dial_that_does_not_stand_at_zero_is_believed(self, send):
        send(["10.000", "10.002", "10", "9.998"], save="check")
        assert Check.objects.exists()

    def test_the_live_result_asks_as_well(self, send):
        assert "is it" in send(["0", "3", "0", "0"], name="try_sweep").text
