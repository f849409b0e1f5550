"""A belt inspection's page and its picture."""

from xml.etree import ElementTree

import pytest
from django.urls import reverse

from machines.drive.inspecting import inspect_belt
from machines.visit_work.services import add_machine_to_visit
from shop.visits.services import correct_visit, sign_visit
from tests import factories
from tests.pages import opened as page

NAMES = {"contractor": ("Ida M.", "service"), "customer": ("Tom Q.", "owner")}


@pytest.fixture
def at_visit(belt, visit, contractor):
    add_machine_to_visit(visit, belt.machine)
    return inspect_belt(belt=belt, made_by=contractor, visit=visit, teeth={12: "marked"})


def picture(client, person, inspection, **query):
    client.force_login(person)
    url = reverse("machines:inspection_picture", args=[inspection.pk])
    return client.get(url, query)


def test_the_page_says_which_teeth_are_not_sound(client, owner, at_visit):
    shown = page(client, owner, at_visit).content.decode()
    assert "1 of 60 teeth not sound: 12 damaged." in shown


def test_what_grew_since_last_time_is_told(client, owner, operator, belt):
    inspect_belt(belt=belt, made_by=operator, teeth={12: "marked"}, made_at=factories.at(1))
    now = inspect_belt(belt=belt, made_by=operator, teeth={12: "worn", 13: "cracked"})
    shown = page(client, owner, now).content.decode()
    assert "Tooth 12 was damaged and is worn." in shown
    assert "Tooth 13 was sound and is cracked." in shown


def test_a_correction_is_held_against_the_look_before_the_corrected_one(client, owner, belt):
    look = {"belt": belt, "made_by": owner}
    inspect_belt(**look, teeth={1: "worn"}, made_at=factories.at(1))
    wrong = inspect_belt(**look, teeth={2: "worn"}, made_at=factories.at(3))
    inspect_belt(**look, teeth={5: "worn"}, made_at=factories.at(5))
    right = inspect_belt(**look, teeth={1: "cracked"}, made_at=factories.at(9), corrects=wrong)
    assert "Tooth 1 was worn and is cracked." in page(client, owner, right).content.decode()


def test_a_corrected_inspection_and_its_correction_name_each_other(client, owner, belt):
    first = inspect_belt(belt=belt, made_by=owner, teeth={2: "worn"})
    second = inspect_belt(belt=belt, made_by=owner, teeth={3: "worn"}, corrects=first)
    assert second.get_absolute_url() in page(client, owner, first).content.decode()
    assert first.get_absolute_url() in page(client, owner, second).content.decode()


def test_the_picture_is_an_svg_that_says_itself_in_words(client, owner, at_visit):
    response = picture(client, owner, at_visit)
    root = ElementTree.fromstring(response.content)
    assert response["Content-Type"] == "image/svg+xml"
    assert root.tag.endswith("svg")
    assert "1 damaged (tooth 12)" in response.content.decode()


@pytest.mark.parametrize("palette", ["dark", "print"])
def test_the_picture_comes_in_other_palettes(client, owner, at_visit, palette):
    light = picture(client, owner, at_visit).content
    assert picture(client, owner, at_visit, palette=palette).content != light


def test_a_palette_that_does_not_exist_is_the_light_one(client, owner, at_visit):
    light = picture(client, owner, at_visit).content
    assert picture(client, owner, at_visit, palette="pink").content == light


def test_strangers_find_neither_page_nor_picture(client, stranger, at_visit):
    assert page(client, stranger, at_visit).status_code == 404
    assert picture(client, stranger, at_visit).status_code == 404


def correct_url(client, person, inspection):
    return page(client, person, inspection).context["correct_url"]


def test_an_inspection_of_a_visit_is_corrected_at_it_by_a_contractor(
    client, contractor, operator, at_visit
):
    assert correct_url(client, contractor, at_visit).endswith(f"visit={at_visit.visit_id}")
    assert correct_url(client, operator, at_visit) == ""


def test_a_signed_inspection_is_corrected_at_the_visit_that_corrects_the_signed_one(
    client, contractor, firm, at_visit, settings
):
    settings.BEFORE_SIGNING = []
    signed = sign_visit(at_visit.visit, **NAMES)
    assert correct_url(client, contractor, at_visit) == ""
    correction = correct_visit(signed, made_by=contractor, firm=firm, reason="wrong tooth")
    assert correct_url(client, contractor, at_visit).endswith(f"visit={correction.pk}")


def test_a_look_outside_a_visit_may_be_corrected_by_whoever_may_log_one(client, operator, belt):
    look = inspect_belt(belt=belt, made_by=operator, teeth={2: "worn"})
    assert correct_url(client, operator, look).endswith(f"?corrects={look.pk}")
