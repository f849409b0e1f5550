"""A half-typed sweep survives a reload and signing out, and goes once it is saved."""

import uuid

import pytest
from django.urls import reverse

from alignment.sweeps.models import SweepDraft
from tests.alignment.conftest import sweep_url, typed
from tests.factories import MembershipFactory


@pytest.fixture
def try_it(at_work, visit, bore):
    """Sends what is typed so far, as the page does by itself."""

    def send(readings=("0.002", "", "", ""), *, client=at_work, **said):
        said = {"entry_id": str(uuid.uuid4())} | said
        return client.post(sweep_url(visit, bore, "try_sweep"), typed(list(readings), **said))

    return send


@pytest.fixture
def boxes(visit, bore):
    """The texts in the boxes of the sweep page, as it is opened anew."""

    def read(client, phase="as found"):
        entry = client.get(sweep_url(visit, bore, phase=phase)).context["entry"]
        return [box["reading"].value() for box in entry.readings]

    return read


def test_it_is_there_after_a_reload(at_work, try_it, boxes):
    try_it(["0.002", "5 tenths", "", ""])
    assert boxes(at_work) == ["0.002", "5 tenths", "", ""]


def test_it_is_there_after_signing_out_and_in(client, contractor, try_it, boxes):
    client.force_login(contractor)
    try_it()
    client.post(reverse("shop:sign_out"))
    client.force_login(contractor)
    assert boxes(client) == ["0.002", "", "", ""]


def test_the_unit_and_the_indicator_s_settings_come_back_too(at_work, try_it, visit, bore):
    try_it(unit="in", sag="-0.0002")
    entry = at_work.get(sweep_url(visit, bore, phase="as found")).context["entry"]
    assert (entry.unit, entry.form["sag"].value()) == ("in", "-0.0002")


def test_the_page_says_that_it_is_not_saved(at_work, try_it, visit, bore):
    try_it()
    assert "Not saved yet" in at_work.get(sweep_url(visit, bore, phase="as found")).text


def test_wrong_input_stays_typed(at_work, try_it, boxes):
    try_it(["0.002", "x", "", ""])
    assert boxes(at_work)[1] == "x"


def test_other_boxes_keep_what_was_typed(at_work, visit, bore, boxes):
    data = typed(["0.002", "", "", ""], show="layout:8", entry_id=str(uuid.uuid4()))
    at_work.post(sweep_url(visit, bore), data)
    assert boxes(at_work) == ["0.002", *[""] * 7]


def test_as_found_and_as_left_are_kept_apart(at_work, try_it, boxes):
    try_it(["0.002", "", "", ""])
    try_it(["0.007", "", "", ""], phase="as left")
    assert (boxes(at_work)[0], boxes(at_work, "as left")[0]) == ("0.002", "0.007")


def test_a_sweep_turned_to_as_left_is_kept_once(try_it):
    same = str(uuid.uuid4())
    try_it(entry_id=same)
    try_it(entry_id=same, phase="as left")
    assert [draft.phase for draft in SweepDraft.objects.all()] == ["as left"]


def test_it_is_gone_once_it_is_saved(at_work, try_it, visit, bore):
    same = str(uuid.uuid4())
    try_it(entry_id=same)
    whole = typed(["0.002", "0", "-0.002", "0"], entry_id=same, save="check")
    at_work.post(sweep_url(visit, bore), whole)
    assert (visit.checks.count(), SweepDraft.objects.count()) == (1, 0)


def test_a_try_that_arrives_after_the_save_brings_nothing_back(at_work, try_it, visit, bore):
    same = str(uuid.uuid4())
    whole = ["0.002", "0", "-0.002", "0"]
    at_work.post(sweep_url(visit, bore), typed(whole, entry_id=same, save="check"))
    try_it(whole, entry_id=same)
    assert not SweepDraft.objects.exists()


def test_starting_afresh_empties_the_boxes(at_work, try_it, visit, bore, boxes):
    try_it()
    at_work.post(sweep_url(visit, bore, phase="as found"), {"afresh": "as found"})
    assert boxes(at_work) == ["", "", "", ""]


def test_emptied_boxes_leave_nothing_behind(try_it):
    same = str(uuid.uuid4())
    try_it(entry_id=same)
    try_it(["", "", "", ""], entry_id=same)
    assert not SweepDraft.objects.exists()


def test_nobody_else_sees_it(client, try_it, boxes, shop, firm):
    try_it()
    other = MembershipFactory(shop=shop, role="contractor", firm=firm).user
    client.force_login(other)
    assert boxes(client) == ["", "", "", ""]


def test_signing_the_visit_forgets_it(try_it, signed, taken_up):
    try_it()
    signed(taken_up)
    assert not SweepDraft.objects.exists()


@pytest.mark.parametrize("said", [{"entry_id": "no id"}, {"phase": "as hoped"}, {"entry_id": ""}])
def test_what_is_not_from_the_form_is_not_kept(try_it, said):
    assert try_it(**said).status_code == 200
    assert not SweepDraft.objects.exists()


def test_an_overlong_text_is_not_kept(try_it):
    try_it(["0.002", "9" * 500, "", ""])
    assert "9" * 500 not in str(SweepDraft.objects.get().data)


def test_a_nul_that_no_database_keeps_is_left_out(try_it, at_work, boxes):
    """PostgreSQL refuses \\u0000 in its JSON, in a value as in a name."""
    try_it(["0.0\x0002", "0.001", "", ""], **{"odd\x00name": "1"})
    assert SweepDraft.objects.exists()
    assert boxes(at_work)[:2] == ["0.002", "0.001"]
