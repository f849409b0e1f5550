"""One box finds whatever a person may see, and nothing of another shop."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from machines.drive.models import Recommendation
from machines.incidents.models import IncidentStep
from machines.incidents.services import log_incident
from shop.search.searched import groups_of, kinds, mended
from shop.search.words import terms_of
from shop.visits.models import Visit
from tests import factories


def found(person, text):
    """{key of the kind: titles found}."""
    groups = groups_of(person, terms_of(text))
    return {group.searched.key: [hit.title for hit in group.hits] for group in groups}


def crash(machine, person, *, ago=0, **more):
    return log_incident(
        machine=machine,
        made_by=person,
        happened_at=timezone.now() - timedelta(days=ago),
        what_hit="boring bar",
        hit_what="collet nut",
        severity="hard",
        may_run=True,
        **more,
    )


@pytest.fixture
def world(shop, firm, machine, operator, contractor, visit):
    """One record of each kind that tells something, each with a word of its own."""
    machine.serial, machine.note = "SN-4711/b", "Spare fuse lies in the door"
    machine.save()
    incident = crash(machine, operator, note="It screamed like a kettle")
    IncidentStep.objects.create(
        incident=incident, state="looked at", found="Cracked flange", made_by=contractor
    )
    factories.VisitedMachineFactory(
        visit=visit, machine=machine, incident=None, findings="Headstock gib loose"
    )
    Visit.objects.filter(pk=visit.pk).update(come_back_for="Shims of bronze")
    part = factories.PartFactory(shop=shop, number="HTD-655-5M", description="Timing belt")
    Recommendation.objects.create(
        machine=machine,
        subject="coolant hose",
        what="coolant hose",
        part=part,
        urgency="watch",
        reason="Swollen at the clamp",
        made_by=contractor,
    )
    return machine


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("4711", "machine"),
        ("sn-4711/B", "machine"),
        ("fuse door", "machine"),
        ("kettle", "incident"),
        ('"boring bar"', "incident"),
        ("flange", "found-after"),
        ("GIB LOOSE", "finding"),
        ("bronze", "visit"),
        ("655-5m", "part"),
        ("swollen", "advice"),
        ("Alder", "shop"),
    ],
)
def test_each_kind_is_found_by_its_words(world, owner, text, kind):
    assert kind in found(owner, text)


def test_every_word_has_to_be_there_and_those_in_quotes_together(world, owner):
    assert "machine" not in found(owner, "fuse kettle")
    assert "incident" not in found(owner, '"bar boring"')


def test_nothing_of_another_shop_is_ever_found(world, stranger):
    for text in ("4711", "kettle", "flange", "gib", "bronze", "655", "swollen", "Alder"):
        assert found(stranger, text) == {}


def test_nor_is_a_word_put_right_by_the_names_of_another_shop(world, owner, stranger):
    assert mended(owner, "Adler") == ["Alder"]
    assert mended(stranger, "Adler") is None


@pytest.mark.parametrize("text", ["%", "_", ".*", "[a-z]+", "\\", "(", "'; --", "a|b"])
def test_what_databases_and_patterns_read_as_signs_is_looked_for_as_it_stands(world, owner, text):
    assert found(owner, text) == {}


def test_signs_are_found_where_they_stand(shop, owner):
    factories.MachineFactory(shop=shop, number="P1", note="50% (worn) [left] a|b C:\\jobs")
    for text in ("50%", "(worn)", "[left]", "a|b", "C:\\jobs"):
        assert "machine" in found(owner, text), text


@pytest.mark.parametrize(
    ("written", "asked"),
    [("מסב הציר רועש", "הציר"), ("Führungsbüchse", "FÜHRUNGSBÜCHSE"), ("шпиндель", "ШПИНД")],
)
def test_words_of_other_scripts_are_found_in_either_case(shop, owner, written, asked):
    factories.MachineFactory(shop=shop, number="P1", note=written)
    assert "machine" in found(owner, asked)


def test_the_newest_come_first_and_the_words_around_are_shown(world, operator, owner):
    crash(world, operator, ago=400, note="An older kettle")
    (group,) = groups_of(owner, ["kettle"])
    assert [hit.day for hit in group.hits] == sorted((hit.day for hit in group.hits), reverse=True)
    assert ("kettle", True) in group.hits[0].around


def test_all_kinds_have_a_key_of_their_own():
    keys = [kind.key for kind in kinds()]
    assert len(set(keys)) == len(keys)


class TestPage:
    def page(self, client, person, **given):
        client.force_login(person)
        return client.get(reverse("shop:search"), given)

    def test_five_thousand_characters_are_cut_and_it_says_so(self, client, owner):
        page = self.page(client, owner, q="belt " * 1000)
        assert "Only the first 200 characters" in page.content.decode()

    def test_a_mistyped_name_is_put_right_and_it_says_so(self, client, world, owner):
        page = self.page(client, owner, q="Aldr").content.decode()
        assert "<bdi>Alder</bdi>" in page
        assert "Alder Screw Works" in page

    def test_nothing_found_says_what_to_try(self, client, owner):
        assert (
            "Nothing has all of these words" in self.page(client, owner, q="zzzq").content.decode()
        )

    def test_what_was_typed_is_never_markup(self, client, shop, owner):
        factories.MachineFactory(shop=shop, number="P1", note="<script>alert(1)</script>")
        page = self.page(client, owner, q="<script>alert").content.decode()
        assert "<script>alert" not in page
        assert "&lt;script&gt;alert" in page

    def test_all_of_one_kind_stand_on_pages(self, client, shop, owner):
        for number in range(30):
            factories.MachineFactory(shop=shop, number=f"K{number}", note="kettle")
        first = self.page(client, owner, q="kettle")
        assert "kind=machine" in first.content.decode()
        second = self.page(client, owner, q="kettle", kind="machine", page=2)
        assert len(second.context["page"].object_list) == 5

    def test_it_costs_as_much_for_many_as_for_few(self, client, world, operator, owner, shop):
        counts = []
        for number in range(1, 9):
            machine = factories.MachineFactory(shop=shop, number=f"K{number}", note="kettle")
            crash(machine, operator, note="kettle")
            if number in (2, 8):
                self.page(client, owner, q="kettle")
                with CaptureQueriesContext(connection) as queries:
                    client.get(reverse("shop:search"), {"q": "kettle"})
                counts.append(len(queries))
        assert counts[0] == counts[1] < 40, counts
