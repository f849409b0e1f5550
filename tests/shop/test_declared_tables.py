"""A table declares beside its model what becomes of its rows, or the site does not start."""

from dataclasses import replace

import pytest
from django.core.management import call_command
from django.core.management.base import SystemCheckError
from django.db import models

from alignment.sweeps.models import Reading
from machines.drive.models import Fitting, Removal
from machines.register.handover import one_machine
from machines.register.models import Machine
from shop.audit.archive_rules import in_order, ways_to, whole_shop
from shop.people.models import Shop, User
from shop.record import Frozen, Goes, Record, Signed, Stays, our_apps, our_models, rules_of
from shop.records.checks import every_table_is_declared, wrong_in
from shop.visits.models import Visit


def refused():
    return [error.msg for error in every_table_is_declared(None)]


def test_the_tables_as_they_are_pass():
    assert our_apps() == ["shop", "machines", "alignment"]
    assert len(our_models()) > 80
    assert refused() == []


def test_the_site_does_not_start_with_a_table_that_says_nothing(monkeypatch):
    monkeypatch.delattr(Reading, "record_rules")

    with pytest.raises(SystemCheckError, match="Reading says nothing of archive, trail"):
        call_command("check")


def test_what_a_model_inherits_does_not_speak_for_it(monkeypatch):
    rules = Reading.record_rules
    monkeypatch.delattr(Reading, "record_rules")
    monkeypatch.setattr(models.Model, "record_rules", rules, raising=False)

    assert refused() == ["Reading says nothing of archive, trail and freezing."]
    with pytest.raises(AttributeError, match=r"alignment\.Reading has no record_rules"):
        rules_of(Reading)


@pytest.mark.parametrize(
    ("said", "model", "complaint"),
    [
        ({"left_out": {"colour": "x"}}, Reading, "there is no column colour."),
        ({"frozen": Frozen("", columns=("hue",))}, Reading, "there is no column hue."),
        ({"part_of": ("bench",)}, Reading, "there is no field bench."),
        ({"archive": Stays("")}, Reading, "it stays, but why is not said."),
        ({"archive": Goes()}, User, "it goes with its shop, but no foreign key leads there"),
        ({"links": ""}, User, "links does not say why"),
        ({"signed": Signed("{0}")}, Reading, "it is signed, but has no visit."),
        (
            {"seen_by": "shop.people.access.nobody"},
            Reading,
            "there is no shop.people.access.nobody.",
        ),
    ],
)
def test_what_a_table_says_wrong_of_itself_is_told(monkeypatch, said, model, complaint):
    monkeypatch.setattr(model, "record_rules", replace(model.record_rules, **said))

    (told,) = wrong_in(model)

    assert told.startswith(complaint)


def test_the_way_to_the_shop_and_to_the_machine_follows_the_foreign_keys():
    assert ways_to(Shop, Reading) == ["sweep__check_record__item__sheet__machine__shop"]
    assert ways_to(Machine, Reading) == ["sweep__check_record__item__sheet__machine"]
    # A part sits on a belt or in a bearing; so the way forks, and what hangs on it forks too.
    assert ways_to(Shop, Fitting) == ["belt__machine__shop", "bearing__machine__shop"]
    assert ways_to(Machine, Removal) == ["fitting__belt__machine", "fitting__bearing__machine"]


def test_by_itself_a_record_goes_with_its_shop_and_is_trailed():
    assert Record().archive == Goes()
    assert (Record().untrailed, Record().frozen, Record().signed) == ("", None, None)


def test_an_archive_puts_a_row_behind_those_it_names():
    for scope in (whole_shop(), one_machine()):
        order = list(scope.going)
        assert order.index(Visit) > order.index(Shop) if Shop in order else True
        assert order.index(Reading) > order.index(Machine)
    assert set(in_order(our_models())) == set(our_models())
