"""The tooth map worked with a thumb, and the list it writes."""

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from machines.drive.models import BeltInspection
from tests.factories import PASSWORD

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def page(window, operator, belt):
    page = window()
    page.goto(reverse("machines:inspect_belt", args=[belt.pk]))
    page.get_by_label("Username").fill(operator.username)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    return page


def teeth_list(page):
    return page.get_by_label("Teeth that are not sound")


def touch(page, tooth):
    page.get_by_role("button", name=f"Tooth {tooth}:").click()


def test_touched_teeth_are_written_to_the_list_and_saved(page):
    for tooth in (12, 13):
        touch(page, tooth)
    page.locator(".tooth-brush .choice", has_text="worn").click()
    touch(page, 40)
    assert teeth_list(page).input_value() == "12-13 damaged, 40 worn"
    page.get_by_role("button", name="Save the inspection").click()
    page.get_by_text("3 of 60 teeth not sound").wait_for()
    assert BeltInspection.objects.get().conditions() == {12: "marked", 13: "marked", 40: "worn"}


def test_a_tooth_touched_again_is_sound(page):
    touch(page, 12)
    touch(page, 12)
    assert teeth_list(page).input_value() == ""


def middle(page, tooth):
    box = page.get_by_role("button", name=f"Tooth {tooth}:").bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def draw(page, first, last):
    """Press on a tooth and go to another as fast as a hand may: the mouse is seen at both only."""
    button = page.get_by_role("button", name=f"Tooth {first}:")
    button.evaluate("button => button.scrollIntoView({ block: 'center' })")
    page.mouse.move(*middle(page, first))
    page.mouse.down()
    page.mouse.move(*middle(page, last))
    page.mouse.up()


def teeth_across(page):
    """How many teeth stand in a row of the map at this width."""
    page.locator(".tooth-map.ready").wait_for()
    columns = "getComputedStyle(document.querySelector('.tooth-map')).gridTemplateColumns"
    return len(page.evaluate(columns).split())


def test_drawing_across_the_loop_marks_exactly_the_teeth_passed(page):
    """The loop is closed: tooth 60 stands beside tooth 1. The map stays where it is meanwhile."""
    across = teeth_across(page)
    last_row = (60 - 1) // across * across + 1
    where = [middle(page, tooth) for tooth in (1, 60)]
    draw(page, last_row + 1, 60)
    draw(page, 1, 4)
    assert teeth_list(page).input_value() == f"1-4 damaged, {last_row + 1}-60 damaged"
    page.evaluate("window.scrollTo(0, 0)")
    assert [middle(page, tooth) for tooth in (1, 60)] == where


def test_what_is_typed_shows_on_the_map(page):
    teeth_list(page).fill("59-2 worn")
    expect(page.get_by_role("button", name="Tooth 2: worn")).to_be_visible()
    shown = [
        tooth
        for tooth in (58, 59, 60, 1, 2, 3)
        if page.get_by_role("button", name=f"Tooth {tooth}: worn").count()
    ]
    assert shown == [59, 60, 1, 2]


def test_a_marked_tooth_takes_back_that_all_are_sound(page):
    page.get_by_text("All 60 teeth were looked at and are sound").click()
    touch(page, 7)
    assert not page.get_by_label("All 60 teeth were looked at and are sound").is_checked()


def test_every_tooth_is_large_enough_for_a_thumb(page):
    teeth = page.locator(".tooth-button")
    expect(teeth).to_have_count(60)
    boxes = [button.bounding_box() for button in teeth.all()]
    assert min(min(box["width"], box["height"]) for box in boxes) >= 40


def test_the_page_is_no_wider_than_its_window(page):
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


def test_without_a_script_the_list_alone_is_typed(window, operator, belt):
    page = window(java_script_enabled=False)
    page.goto(reverse("machines:inspect_belt", args=[belt.pk]))
    page.get_by_label("Username").fill(operator.username)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    assert not page.locator(".tooth-map").is_visible()
    teeth_list(page).fill("12 damaged")
    page.get_by_role("button", name="Save the inspection").click()
    assert BeltInspection.objects.get().conditions() == {12: "marked"}
