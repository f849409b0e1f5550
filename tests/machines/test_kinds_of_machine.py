"""Kinds of machine: what the files say, and what is wrong with one that contradicts itself."""

import pytest
from django.urls import reverse

from alignment.sheets.models import AcceptanceItem
from machines.kinds import shape
from machines.kinds.axes import axis_fields, kind_axis
from machines.kinds.catalogue import FILES, kinds_for, our_kinds
from machines.kinds.drawing import describe, machine_drawing
from machines.kinds.shape import KindAxis, KindStation, MachineKind, read_kind
from machines.register.models import Axis, Station
from shop.paper.drawing.svg import shapes
from shop.paper.palettes import PALETTES

OURS = list(our_kinds().values())


def kind(**said):
    stations = [
        {"key": "head", "name": "headstock spindle", "kind": "headstock"},
        {"key": "gang", "name": "gang tool slide", "kind": "gang tools", "datum": "head"},
    ]
    return {"name": "plain", "stations": stations, **said}


def test_there_is_one_file_for_each_kind_and_no_two_have_one_name():
    assert len(OURS) == len(list(FILES.iterdir())) == len({one.name for one in OURS}) >= 5


@pytest.mark.parametrize("one", OURS, ids=lambda one: one.name)
def test_every_kind_gives_stations_axes_lines_and_a_drive_train(one):
    assert one.stations[0].kind == "headstock"
    assert all((one.axes, one.items, one.belts, one.says))
    assert {item.station for item in one.items} == {station.key for station in one.stations}


@pytest.mark.parametrize("one", OURS, ids=lambda one: one.name)
def test_no_kind_states_a_limit_or_a_figure_of_the_factory(one):
    """Those come from each machine's own sheet."""
    lines = FILES.joinpath(f"{slug_of(one)}.toml").read_text().splitlines()
    said = {line.partition(" =")[0] for line in lines if " =" in line}
    assert not {name for name in said if name.endswith("_um")} | said & {"upper", "lower", "teeth"}


def slug_of(one):
    return next(slug for slug, kind in our_kinds().items() if kind is one)


def test_the_usual_machine_has_five_stations_three_belts_and_seven_lines():
    usual = our_kinds()["gang-slide-with-guide-bushing"]
    assert [len(part) for part in (usual.stations, usual.belts, usual.items)] == [5, 3, 7]


def test_the_words_of_a_kind_are_those_of_the_records():
    assert set(shape.STATION_KINDS) == set(Station.Kind.values)
    assert set(shape.HOLDERS) == set(Station.Holder.values)
    assert set(shape.LOOKS) == set(Station.Look.values)
    for one in OURS:
        assert {item.quantity for item in one.items} <= set(AcceptanceItem.Quantity.values)
        assert {item.surface for item in one.items} <= set(AcceptanceItem.Surface.values)


@pytest.mark.parametrize("one", OURS, ids=lambda one: one.name)
def test_a_kind_comes_back_from_what_is_kept_of_it(one):
    assert read_kind(one.as_data()) == one


WRONG = [
    ({"stations": [{"key": "a", "name": "a", "kind": "lathe"}]}, "kind of a is 'lathe'"),
    ({"stations": [{"key": "a", "name": "a"}]}, "stations: .*kind"),
    ({"stations": [{"key": "a", "name": "a", "kind": "other", "datum": "b"}]}, "master datum"),
    ({"axes": [{"name": "X1", "moves": ["turret"]}]}, "X1 moves 'turret'"),
    ({"axes": [{"name": "X1", "plus": "left"}]}, "plus of X1"),
    ({"axes": [{"name": "X1"}, {"name": "X1"}]}, "Two axes"),
    ({"items": [{"station": "sub", "name": "bore"}]}, "station of 'bore'"),
    ({"belts": [{"name": "belt"}]}, "belt lacks its drives"),
    ({"bearings": [{"name": "front", "inside": "jack shaft"}]}, "inside 'jack shaft'"),
    ({"assemblies": [{"kind": "gearbox"}]}, "assembly is 'gearbox'"),
    ({"headstock_side": "top"}, "headstock's side"),
    ({"colour": "green"}, "'colour' is not known"),
]


@pytest.mark.parametrize(("said", "reason"), WRONG)
def test_a_kind_that_contradicts_itself_is_refused_with_the_place(said, reason):
    with pytest.raises(ValueError, match=reason):
        read_kind(kind(**said))


def test_a_datum_stands_before_what_is_measured_from_it():
    stations = kind()["stations"]
    stations.insert(1, {"key": "sub", "name": "sub", "kind": "sub-spindle", "datum": "gang"})
    with pytest.raises(ValueError, match="must stand before it"):
        read_kind(kind(stations=stations))


@pytest.mark.parametrize("plus", shape.PLUS)
def test_an_axis_on_record_is_told_again_as_the_kind_told_it(plus):
    head = KindStation("gang tool slide", "gang tool slide", "gang tools")
    one = KindAxis("X1", ("gang tool slide",), plus, "gang tool slide")
    record = Axis(**axis_fields(one, MachineKind("plain", stations=(head,))))
    assert kind_axis(record, [head.key]) == one


def test_the_drawing_names_every_station_and_the_axes_that_move_it():
    usual = our_kinds()["gang-slide-with-guide-bushing"]
    drawn = " ".join(one.text for one in shapes(machine_drawing(usual)) if hasattr(one, "text"))
    for words in ("headstock spindle", "sub-spindle", "back tool station", "X1 Y1", "X2 Z2"):
        assert words in drawn


@pytest.mark.parametrize("palette", PALETTES.values(), ids=PALETTES)
@pytest.mark.parametrize("one", OURS, ids=lambda one: one.name)
def test_no_box_of_a_drawing_overlaps_another_or_leaves_it(one, palette):
    drawing = machine_drawing(one, palette)
    boxes = [shape for shape in shapes(drawing) if getattr(shape, "rx", 0)]
    assert len(boxes) == len(one.stations)
    for number, box in enumerate(boxes):
        assert box.x >= 0
        assert box.x + box.width <= drawing.width
        assert box.y >= 0
        assert box.y + box.height <= drawing.height
        for other in boxes[:number]:
            apart = box.x + box.width <= other.x or other.x + other.width <= box.x
            assert apart or box.y + box.height <= other.y or other.y + other.height <= box.y


def test_a_headstock_on_the_right_turns_the_drawing_round():
    usual = our_kinds()["gang-slide-with-guide-bushing"]
    turned = read_kind({**usual.as_data(), "headstock_side": "right"})
    left, right = (first_box(machine_drawing(one)).x for one in (usual, turned))
    assert left < 180 < right
    assert "stands on the right" in describe(turned)


def first_box(drawing):
    return next(shape for shape in shapes(drawing) if getattr(shape, "strokeWidth", 0) == 1.6)


def test_a_person_without_a_firm_starts_from_our_kinds_alone(owner):
    assert [one.own for one in kinds_for(owner)] == [None] * len(OURS)


def test_an_axis_is_added_changed_and_removed_on_pages_of_the_site(client, owner, machine):
    client.force_login(owner)
    address = reverse("machines:axes", args=[machine.pk])
    client.post(address, {"name": "Y2", "moves": "back tool station", "plus": "up"})
    axis = machine.axes.get(name="Y2")
    client.post(
        reverse("machines:axis", args=[axis.pk]), {"name": "Y3", "plus": "down", "moves": "x"}
    )
    axis.refresh_from_db()
    assert (axis.name, axis.plus) == ("Y3", "down")
    assert "already" in client.post(address, {"name": "Y3", "moves": "x", "plus": "up"}).text
    client.post(reverse("machines:remove_axis", args=[axis.pk]))
    assert not machine.axes.filter(pk=axis.pk).exists()
