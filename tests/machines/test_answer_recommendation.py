"""A recommendation's page, and what may become of it by whom."""

import uuid

import pytest

from machines.drive.inspecting import inspect_belt
from machines.drive.models import RecommendationStep
from machines.incidents.stopping import stop_machine
from tests.pages import text_of as page

State = RecommendationStep.State


@pytest.fixture
def inspection(machine, operator):
    belt = machine.belts.get(name="guide bushing belt")
    return inspect_belt(belt=belt, made_by=operator, teeth={12: "marked", 40: "worn"})


@pytest.fixture
def advice(machine, inspection):
    return machine.recommendations.get()


@pytest.fixture
def urgent(machine, operator):
    inspect_belt(belt=machine.belts.first(), made_by=operator, teeth={9: "missing"})
    return machine.recommendations.get()


def answer(client, person, advice, state, **typed):
    client.force_login(person)
    fitted = {"why": "worn", "quantity": 1} if state == State.FITTED else {}
    return client.post(advice.get_absolute_url(), {"state": state, **fitted, **typed})


def test_the_page_names_reason_part_and_evidence(client, owner, advice, inspection):
    shown = page(client, owner, advice)
    assert advice.reason in shown
    assert "GB-60 guide bushing belt" in shown
    assert inspection.get_absolute_url() in shown


@pytest.mark.parametrize(
    ("role", "state", "note"),
    [
        ("owner", State.APPROVED, ""),
        ("owner", State.DEFERRED, "after the batch"),
        ("owner", State.DECLINED, "machine is to be sold"),
        ("contractor", State.FITTED, "new belt, tension set"),
    ],
)
def test_each_may_say_what_is_theirs_to_say(client, request, advice, role, state, note):
    person = request.getfixturevalue(role)
    answer(client, person, advice, state, note=note)
    step = advice.steps.get()
    assert (step.state, step.note, step.made_by) == (state, note, person)


@pytest.mark.parametrize(
    ("role", "state"),
    [
        ("owner", State.FITTED),
        ("owner", State.WITHDRAWN),
        ("owner", "nonsense"),
    ],
)
def test_nobody_says_what_is_anothers_to_say(client, request, advice, role, state):
    response = answer(client, request.getfixturevalue(role), advice, state, note="because")
    assert response.context["form"].errors["state"]
    assert not advice.steps.exists()


@pytest.mark.parametrize("state", [State.APPROVED, State.DECLINED])
def test_a_contractor_decides_for_no_owner_without_saying_who_told_it(
    client, contractor, advice, state
):
    response = answer(client, contractor, advice, state, note="because")
    assert response.context["form"].errors["told_by"]
    assert not advice.steps.exists()


def test_an_operator_reads_it_and_does_not_answer(client, operator, advice):
    assert "Save the decision" not in page(client, operator, advice)
    assert answer(client, operator, advice, State.APPROVED).status_code == 403


@pytest.mark.parametrize("state", [State.DEFERRED, State.DECLINED])
def test_to_put_off_or_to_decline_takes_a_reason(client, owner, advice, state):
    response = answer(client, owner, advice, state, note="  ")
    assert "Say why" in str(response.context["form"].errors["note"])
    assert not advice.steps.exists()


def test_what_is_settled_takes_no_further_answer(client, owner, contractor, advice):
    answer(client, contractor, advice, State.FITTED)
    assert "Save the decision" not in page(client, owner, advice)
    response = answer(client, owner, advice, State.APPROVED)
    assert "settled already" in str(response.context["form"].non_field_errors())


def test_an_answer_sent_twice_is_taken_once(client, contractor, advice):
    entry = str(uuid.uuid4())
    answer(client, contractor, advice, State.FITTED, entry_id=entry)
    assert answer(client, contractor, advice, State.FITTED, entry_id=entry).status_code == 302
    assert advice.steps.count() == 1


def test_a_machine_that_runs_against_the_advice_can_be_stopped_from_here(client, owner, urgent):
    assert "Stop the machine" in page(client, owner, urgent)
    stop_machine(urgent.machine)
    assert "Stop the machine" not in page(client, owner, urgent)


def test_a_strangers_recommendation_is_not_found(client, stranger, advice):
    assert answer(client, stranger, advice, State.APPROVED).status_code == 404
