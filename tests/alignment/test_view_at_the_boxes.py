"""What stands beside the boxes of a sweep: the view, and what the machine calls right and up."""

import pytest

from alignment.sheets.fields import AngleField
from tests.alignment.conftest import sweep_url, typed


@pytest.fixture
def page(at_work, visit, bore):
    return lambda **query: at_work.get(sweep_url(visit, bore, **query)).text


@pytest.mark.parametrize(
    ("look", "headstock", "told"),
    [
        ("from the headstock", "left", "front is at the right, rear at the left"),
        ("to the headstock", "left", "rear is at the right, front at the left"),
        ("from the headstock", "right", "rear is at the right, front at the left"),
        ("to the headstock", "right", "front is at the right, rear at the left"),
    ],
)
def test_front_and_rear_stand_at_the_sides_of_the_dial(page, machine, bore, look, headstock, told):
    type(machine).objects.filter(pk=machine.pk).update(headstock_side=headstock)
    type(bore.station).objects.filter(pk=bore.station_id).update(look=look)
    text = page().replace("\n", "")
    assert told in text
    assert f"90°<b>{told.split()[0]}</b>" in text.replace(" ", "")
    assert f"270°<b>{told.split()[-4]}</b>" in text.replace(" ", "")


def test_the_sides_stay_when_the_boxes_are_laid_out_anew(at_work, visit, bore):
    data = typed(["", "", "", ""], show="layout:8")
    assert "front is at the right" in at_work.post(sweep_url(visit, bore), data).text


def test_an_angle_calls_up_the_number_pad():
    assert AngleField().widget.attrs["inputmode"] == "decimal"


def test_each_box_leads_on_to_the_next(page):
    assert page().count('enterkeyhint="next"') == 4
