"""Noting a look at a belt, tooth by tooth."""

import uuid

import pytest
from django.urls import reverse

from machines.drive.inspecting import inspect_belt
from machines.drive.models import BeltInspection
from shop.visits.services import sign_visit
from tests import factories

NAMES = {"contractor": ("Ida M.", "service"), "customer": ("Tom Q.", "owner")}


def url(belt, **query):
    return reverse("machines:inspect_belt", args=[belt.pk], query=query)


def send(client, person, belt, typed, **query):
    client.force_login(person)
    return client.post(url(belt, **query), typed)


def test_an_operator_logs_worn_teeth_without_a_visit(client, operator, belt):
    response = send(client, operator, belt, {"teeth": "12 damaged, 13-14 worn", "note": "oily"})
    inspection = BeltInspection.objects.get()
    assert response.url == inspection.get_absolute_url()
    assert inspection.conditions() == {12: "marked", 13: "worn", 14: "worn"}
    assert (inspection.visit, inspection.made_by, inspection.note) == (None, operator, "oily")


def test_a_contractor_inspects_as_part_of_a_visit(client, contractor, belt, at_visit):
    send(client, contractor, belt, {"teeth": "12 damaged"}, visit=at_visit.pk)
    assert BeltInspection.objects.get().visit == at_visit


def test_an_inspection_at_a_visit_is_the_contractors(client, operator, belt, at_visit):
    assert send(client, operator, belt, {"teeth": "1 worn"}, visit=at_visit.pk).status_code == 403
    assert not BeltInspection.objects.exists()


def test_two_marked_teeth_show_the_replacement_they_lead_to(client, contractor, belt, at_visit):
    response = send(client, contractor, belt, {"teeth": "12, 40 damaged"}, visit=at_visit.pk)
    advice = belt.machine.recommendations.get()
    assert advice.get_absolute_url() in client.get(response.url).content.decode()


@pytest.mark.parametrize(
    ("typed", "reason"),
    [
        ("97 damaged", "no tooth 97 on a belt with teeth 1 to 60"),
        ("12 fried", "is no condition of a tooth"),
        ("12", "What is tooth 12"),
        ("9" * 1001, "at most 1000 characters"),
    ],
)
def test_a_wrong_tooth_is_refused_at_the_field_and_stays_typed(
    client, operator, belt, typed, reason
):
    response = send(client, operator, belt, {"teeth": typed, "note": "oily"})
    form = response.context["form"]
    assert reason in str(form.errors["teeth"])
    assert (form["teeth"].value(), form["note"].value()) == (typed, "oily")
    assert not BeltInspection.objects.exists()


def test_an_empty_list_is_not_taken_for_a_sound_belt(client, operator, belt):
    response = send(client, operator, belt, {"teeth": ""})
    assert "tick that all are" in str(response.context["form"].errors["teeth"])


def test_a_belt_is_sound_when_somebody_says_so(client, operator, belt):
    send(client, operator, belt, {"teeth": "", "all_sound": "on"})
    assert BeltInspection.objects.get().conditions() == {}


def test_a_belt_is_not_sound_and_worn_at_once(client, operator, belt):
    response = send(client, operator, belt, {"teeth": "12 worn", "all_sound": "on"})
    assert response.context["form"].errors["all_sound"]


def test_a_form_sent_twice_makes_one_inspection(client, operator, belt):
    typed = {"teeth": "12 worn", "entry_id": str(uuid.uuid4())}
    assert send(client, operator, belt, typed).url == send(client, operator, belt, typed).url
    assert BeltInspection.objects.count() == 1


def test_the_form_can_start_from_the_list_of_last_time(client, operator, belt):
    inspect_belt(belt=belt, made_by=operator, teeth={12: "worn", 13: "worn"})
    client.force_login(operator)
    assert client.get(url(belt)).context["form"]["teeth"].value() is None
    assert client.get(url(belt, start="last")).context["form"]["teeth"].value() == "12-13 worn"


def test_a_correction_starts_from_what_it_corrects_and_names_it(client, operator, belt):
    first = inspect_belt(belt=belt, made_by=operator, teeth={12: "worn"}, note="oily")
    client.force_login(operator)
    form = client.get(url(belt, corrects=first.pk)).context["form"]
    assert (form["teeth"].value(), form["note"].value()) == ("12 worn", "oily")
    send(client, operator, belt, {"teeth": "21 worn"}, corrects=first.pk)
    assert BeltInspection.objects.not_superseded().get().corrects == first


def test_what_was_corrected_once_is_not_corrected_again(client, operator, belt):
    first = inspect_belt(belt=belt, made_by=operator, teeth={12: "worn"})
    inspect_belt(belt=belt, made_by=operator, teeth={13: "worn"}, corrects=first)
    response = send(client, operator, belt, {"teeth": "14 worn"}, corrects=first.pk)
    assert "corrected already" in str(response.context["form"].non_field_errors())


def test_a_signed_visit_takes_no_further_inspection(client, contractor, belt, at_visit, settings):
    settings.BEFORE_SIGNING = []
    sign_visit(at_visit, **NAMES)
    response = send(client, contractor, belt, {"teeth": "14 worn"}, visit=at_visit.pk)
    assert "no longer changes" in str(response.context["form"].non_field_errors())
    assert response.context["form"]["teeth"].value() == "14 worn"


@pytest.mark.parametrize("query", [{"visit": "x"}, {"visit": 999}, {"corrects": 999}])
def test_what_the_address_names_must_be_there(client, contractor, belt, query):
    assert send(client, contractor, belt, {"teeth": "1 worn"}, **query).status_code == 404


def test_a_visit_to_another_shop_is_not_found(client, contractor, belt):
    foreign = factories.VisitFactory(contractor=contractor)
    factories.MembershipFactory(user=contractor, shop=foreign.shop, role="contractor")
    response = send(client, contractor, belt, {"teeth": "1 worn"}, visit=foreign.pk)
    assert response.status_code == 404


def test_another_belts_inspection_is_not_corrected_from_here(client, operator, machine, belt):
    other = inspect_belt(belt=machine.belts.first(), made_by=operator, teeth={1: "worn"})
    assert send(client, operator, belt, {"teeth": "1 worn"}, corrects=other.pk).status_code == 404


def test_a_strangers_belt_is_not_found(client, stranger, belt):
    assert send(client, stranger, belt, {"teeth": "1 worn"}).status_code == 404


def test_a_contractor_is_told_of_the_visit_that_is_open(client, contractor, belt, at_visit):
    client.force_login(contractor)
    assert f"?visit={at_visit.pk}" in client.get(url(belt)).content.decode()


def test_the_caution_stands_where_the_belt_is_looked_at(client, operator, belt):
    client.force_login(operator)
    assert "Lock out and discharge" in client.get(url(belt)).content.decode()


def unseen(machine):
    """A belt behind a closed cover: its name and its pulleys."""
    return machine.belts.create(name="pump belt", drives="main spindle to pump")


def test_the_first_look_asks_for_what_was_not_known_of_the_belt(client, operator, machine):
    belt = unseen(machine)
    client.force_login(operator)
    address = reverse("machines:inspect_belt", args=[belt.pk])
    page = client.get(address).text
    for words in ("How many teeth it has", "Its tooth profile", "Its width"):
        assert words in page
    client.post(address, {"count": "72", "profile": "5M", "width_mm": "15", "teeth": "12 damaged"})
    belt.refresh_from_db()
    assert (belt.teeth, belt.profile, belt.width_mm, belt.pitch_mm) == (72, "5M", 15, 5)
    assert belt.inspections.get().conditions() == {12: "marked"}
    assert "How many teeth it has" not in client.get(address).text


def test_teeth_cannot_be_listed_before_they_were_counted(client, operator, machine):
    belt = unseen(machine)
    client.force_login(operator)
    answer = client.post(reverse("machines:inspect_belt", args=[belt.pk]), {"teeth": "12 damaged"})
    assert "Say first how many teeth it has." in answer.text
    assert not belt.inspections.exists()


def test_what_is_known_of_a_belt_by_now_stays(operator, machine):
    """Two people looked at once: the first count stands."""
    belt = machine.belts.get(name="guide bushing belt")
    inspect_belt(belt=belt, made_by=operator, teeth={}, learnt={"teeth": 99, "profile": "XL"})
    belt.refresh_from_db()
    assert (belt.teeth, belt.profile) == (60, "5M")
