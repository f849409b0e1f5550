"""Sheets, axes and ways as they were kept in an indicator's view, migrated to tell of the station.

On tables of that time in a database of its own, whatever the tests run on; migrated once for all.
"""

import pytest
from django.db import connections
from django.db.backends.sqlite3.base import DatabaseWrapper
from django.db.migrations.loader import MigrationLoader
from django.test import override_settings

BEFORE = [("machines", "0010_register"), ("alignment", "0010_register")]
THEN = [
    ("machines", "0011_front_and_rear"),
    ("alignment", "0011_frame_fields"),
    ("alignment", "0012_told_of_the_station"),
    ("alignment", "0013_frame_constraints"),
]
AWAY, BACK = "from the headstock", "to the headstock"
HOUSING, SUB = "guide bushing", "sub-spindle"
# Of the sub-spindle: it holds the indicator, which turns all once, and looks back, which turns
# sideways once more and a lean's way along the machine.
LIMITS = [
    (HOUSING, "right", "bore", "front", False),
    (HOUSING, "up", "bore", "up", False),
    (HOUSING, "tilt right", "bore", "tilt front", False),
    (SUB, "right", "bore", "front", False),
    (SUB, "up", "bore", "up", True),
    (SUB, "tilt right", "bore", "tilt front", True),
    (SUB, "tilt up", "bore", "tilt up", False),
    (SUB, "tilt right", "bar", "tilt front", True),
    (SUB, "tilt up", "bar", "tilt up", False),
]
# What an axis moves in words, its plus in the view, from the front, and what it then moves.
AXES = [
    ("guide bushing housing", "right", "front", "housing"),
    ("sub-spindle slide", "right", "rear", "sub-spindle"),
    ("sub-spindle slide", "up", "up", "sub-spindle"),
    ("bar feeder", "left", "rear", None),
    ("sub-spindle slide", "along", "none", "sub-spindle"),
]
X2 = {"letter": "X2", "sign": 1}
WAYS = [
    (HOUSING, "screws", {"plane_mm": 30}, {"plane_mm": 30, "clockwise_pushes": "towards"}),
    (SUB, "screws", {"plane_mm": 30}, {"plane_mm": -30, "clockwise_pushes": "away from"}),
    (SUB, "shims", {"pushes": "right", "feet": {"a": 40}}, {"pushes": "rear", "feet": {"a": -40}}),
    (HOUSING, "shims", {"pushes": "right"}, {"pushes": "front"}),
    (SUB, "control", {"right": X2}, {"front": X2 | {"sign": -1}}),
]


@pytest.fixture(scope="module")
def migrated(django_db_blocker):
    """What became of everything above: ({table: rows by their place in the lists})."""
    with override_settings(MIGRATION_MODULES={}):  # the tests make their tables without
        loader = MigrationLoader(None)
    state = loader.project_state(BEFORE)
    usual = connections["default"]
    settings = usual.settings_dict | {"NAME": ":memory:", "OPTIONS": {}}
    with django_db_blocker.unblock():
        connections["default"] = old = DatabaseWrapper(settings, "default")
        try:
            with old.schema_editor() as editor:
                for model in state.apps.get_models():
                    editor.create_model(model)
            _furnish(state.apps)
            return _read(_migrate(loader, state))
        finally:
            old.close()
            connections["default"] = usual


def _furnish(models):
    def made(label, **said):
        return models.get_model(label).objects.create(**said)

    machine = made("machines.Machine", shop=made("shop.Shop", name="Oldbridge"), number="1")
    headstock = {"name": "headstock", "kind": "headstock", "position": 1}
    first = made("alignment.Station", machine=machine, **headstock)
    stations = {
        kind: made(
            "alignment.Station", machine=machine, datum=first, name=name, kind=kind,
            position=position, indicator_in=holder, look=look,
        )
        for position, kind, name, holder, look in (
            (2, HOUSING, "housing", "datum", AWAY), (3, SUB, "sub-spindle", "station", BACK),
        )
    }  # fmt: skip
    sheet = made("alignment.AcceptanceSheet", machine=machine, name="factory", is_current=True)
    items = [
        made(
            "alignment.AcceptanceItem", sheet=sheet, station=stations[kind], position=position,
            quantity=quantity, surface=surface, lower_um=-5, upper_um=20, factory_um=3,
        )
        for position, (kind, quantity, surface, *_) in enumerate(LIMITS)
    ]  # fmt: skip
    for number, (moves, view, *_) in enumerate(AXES):
        made("machines.Axis", machine=machine, name=f"X{number}", moves=moves, view=view)
    for kind, way, settings, _told in WAYS:
        made("alignment.AdjustingWay", station=stations[kind], kind=way, settings=settings)
    ida = made("shop.User", username="ida")
    firm = made("shop.Firm", name="Service")
    visit = made("shop.Visit", shop=machine.shop, firm=firm, contractor=ida, made_by=ida)
    made(
        "alignment.Check", visit=visit, item=items[4], made_by=ida, phase="as found",
        lower_um=-5, upper_um=20, right_um=1, up_um=4, value_um=4, coverage=2, verdict="within",
    )  # fmt: skip


def _migrate(loader, state):
    for key in THEN:
        migration = loader.disk_migrations[key]
        with connections["default"].schema_editor(atomic=migration.atomic) as editor:
            state = migration.apply(state, editor)
    return state.apps


def _read(models):
    def all_of(label):
        return models.get_model(label).objects.order_by("pk")

    return {
        "items": list(all_of("alignment.AcceptanceItem")),
        "axes": [
            (axis.plus, [mover.station.name for mover in axis.stations.select_related("station")])
            for axis in all_of("machines.Axis")
        ],
        "ways": [way.settings for way in all_of("alignment.AdjustingWay")],
        "checks": list(all_of("alignment.Check")),
    }


@pytest.mark.parametrize("place", range(len(LIMITS)))
def test_limits_with_a_sign_are_turned_as_the_view_says(migrated, place):
    *_, new_name, turned = LIMITS[place]
    item = migrated["items"][place]
    assert (item.quantity, item.turned) == (new_name, turned)
    kept = (item.lower_um, item.upper_um, item.factory_um)
    assert kept == ((-20, 5, -3) if turned else (-5, 20, 3))


@pytest.mark.parametrize("place", range(len(AXES)))
def test_an_axis_is_told_from_the_front_and_named_where_it_moves_a_station(migrated, place):
    *_, plus, station = AXES[place]
    assert migrated["axes"][place] == (plus, [station] * bool(station))


@pytest.mark.parametrize("place", range(len(WAYS)))
def test_a_way_of_adjusting_is_told_along_the_machine(migrated, place):
    told = dict(WAYS[place][-1])
    if "clockwise_pushes" in told:
        told["clockwise_pushes"] += " the headstock"
    assert migrated["ways"][place] == told


def test_a_check_of_then_keeps_its_figures_and_says_they_are_the_dials(migrated):
    (check,) = migrated["checks"]
    assert (check.view, check.value_um, check.lower_um, check.upper_um) == ("dial", 4, -5, 20)
