"""What stands beside the boxes of a sweep: the view, and what the machine calls right and up."""

import pytest

from alignment.forms.fields import AngleField
from tests.alignment.conftest import sweep_url, typed


@pytest.fixture
def page(at_work, visit, bore):
    return lambda **query: at_work.get(sweep_url(visit, bore, **query)).text


def test_the_dial_names_the_machine_s_axes(page):
    text = page()
    assert "right is X2+/Y1+; up is X1+" in text
    assert 'class="dial-name">X1+</text>' in text


def test_a_machine_without_axes_says_right_and_up(page, machine):
    machine.axes.all().delete()
    text = page()
    assert 'class="dial-name">up</text>' in text
    assert "; right is" not in text


def test_the_axes_stay_when_the_boxes_are_laid_out_anew(at_work, visit, bore):
    data = typed(["", "", "", ""], show="layout:8")
    assert "right is X2+/Y1+" in at_work.post(sweep_url(visit, bore), data).text


def test_an_angle_calls_up_the_number_pad():
    assert AngleField().widget.attrs["inputmode"] == "decimal"


def test_each_box_leads_on_to_the_next(page):
    assert page().count('enterkeyhint="next"') == 4
