"""An archive of the format before stations were told of: taken in as a migrated site would have it.

Made by hand from one of today: tables, fields, names and signs as they were then.
"""

import json

import pytest

from alignment.adjusting.models import AdjustingWay
from alignment.sheets.models import AcceptanceItem
from alignment.sweeps.models import Check
from machines.register.models import Axis, Machine, Station
from shop.records.signatures import signed_troubles
from shop.visits.signed import digest_of
from tests.archive.conftest import empty_the_site, entries_of, into_site, out_of, packed
from tests.factories import station_of

SUB = {"indicator_in": "station", "look": "to the headstock"}
# Columns of what is signed that came since.
NEW = ("view", "front_um", "foretold_front_um", "overtaken_at", "error_travel_um")
WAS = {"front": "right", "tilt front": "tilt right", "bow front": "bow right"}


def as_it_was(entries):
    """The entries of an archive of today as format 1 had them."""
    tables = {
        name.removeprefix("records/").removesuffix(".jsonl"): [
            json.loads(line) for line in content.splitlines()
        ]
        for name, content in entries.items()
        if name.startswith("records/")
    }
    for name in ("station", "incidentstation"):
        tables[f"alignment.{name}"] = tables.pop(f"machines.{name}")
    tables.pop("machines.stationmover", None)
    for row in tables["alignment.acceptanceitem"]:
        row["quantity"] = WAS.get(row["quantity"], row["quantity"])
        for name in ("measured_from", "indicator_in", "look", "plane_mm", "turned"):
            del row[name]
    for row in tables["alignment.adjustment"]:
        assert row.pop("front_um") is row.pop("foretold_front_um") is None
        del row["overtaken_at"]
    for row in tables["alignment.check"]:
        del row["view"]
    for row in tables["machines.machine"]:
        del row["headstock_side"]
    for row in tables["machines.axis"]:
        row["view"] = {"front": "right", "rear": "left"}.get(row.pop("plus"), "none")
    for row in tables["alignment.sweep"]:
        del row["error_travel_um"]
    for row in tables["shop.signedrecord"]:
        rows = [{k: v for k, v in one.items() if k not in NEW} for one in json.loads(row["said"])]
        row["said"] = json.dumps(rows, sort_keys=True, ensure_ascii=False)
        row["digest"] = digest_of(row["said"])
    lines = {
        f"records/{label}.jsonl": "".join(f"{json.dumps(row)}\n" for row in rows).encode()
        for label, rows in tables.items()
    }
    return {n: content for n, content in entries.items() if n.startswith("files/")} | lines


@pytest.fixture
def taken_in(told_shop, settings, tmp_path):
    """The shop of `told_shop`, its sub-spindle holding an indicator that looks back, out in format
    1 and in again."""
    machine = Machine.objects.get()
    sub = Station.objects.filter(pk=station_of(machine, "sub-spindle").pk)
    sub.update(**SUB)
    line = {"sheet": machine.sheets.get(), "station": sub.get(), "lower_um": -5, "upper_um": 20}
    for position, quantity in enumerate(("front", "up", "tilt front"), start=70):
        AcceptanceItem.objects.create(name=quantity, position=position, quantity=quantity, **line)
    AdjustingWay.objects.create(
        station=sub.get(), kind="control", settings={"right": {"letter": "X2", "sign": 1}}
    )
    machine.axes.all().delete()
    Axis.objects.create(machine=machine, name="X2", moves="sub-spindle slide", plus="front")
    archive = packed(as_it_was(entries_of(out_of(told_shop))), version=1)
    empty_the_site()
    settings.MEDIA_ROOT = tmp_path / "media"
    return into_site(archive)


def test_it_comes_in_as_a_migrated_site_has_it(taken_in):
    machine = Machine.objects.get()
    assert machine.headstock_side == "left"
    told = {
        item.quantity: (item.lower_um, item.upper_um, item.turned)
        for item in AcceptanceItem.objects.filter(position__gte=70)
    }
    # In the station it turns all once; looking back turns sideways, and a lean's way, once more.
    assert told == {
        "front": (-5, 20, False),
        "up": (-20, 5, True),
        "tilt front": (-20, 5, True),
    }
    axis = Axis.objects.get()
    assert axis.plus == "rear"
    assert [mover.station.kind for mover in axis.stations.all()] == ["sub-spindle"]
    way = AdjustingWay.objects.get(kind="control", station__kind="sub-spindle")
    assert way.settings == {"front": {"letter": "X2", "sign": -1}}


def test_what_was_signed_keeps_its_figures_and_its_file(taken_in):
    check = Check.objects.get()
    assert check.view == Check.View.DIAL
    assert (check.right_um, check.up_um) == pytest.approx((12, 5))
    report = check.visit.documents.get(kind="service report")
    assert report.file.read() == b"%PDF"
    assert list(signed_troubles()) == []


def test_its_page_tells_the_direction_of_the_station_and_says_so_once(taken_in, client):
    check = Check.objects.get()
    client.force_login(check.made_by)
    page = client.get(check.get_absolute_url()).text
    assert page.count("frame since this version") == 1
    assert "to the front" in page
