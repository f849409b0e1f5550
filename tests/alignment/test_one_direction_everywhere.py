"""Every page and paper says of one check the same figure and the same direction, wherever the
indicator sits: a simulated lathe stands or leans to the rear and up, and all of them say so."""

import csv
import html
import io
import re
from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from alignment.adjusting.models import AdjustingWay
from alignment.geometry.measure.quantity import SIGNED
from alignment.sheets.models import AcceptanceItem
from alignment.sweeps import report as sections
from machines.history.issued import build_history
from shop.paper.documents import Section, build_document
from shop.visits.reporting import report_of
from tests.alignment.conftest import sweep_url
from tests.alignment.test_bar_face_and_flat import bar, flat
from tests.alignment.test_one_state_everywhere import META
from tests.factories import station_of
from tests.papers import words_of
from tests.simulated.lathe import Indicator, Lathe
from tests.simulated.site import ANGLES, typed

REAR_UM, UP_UM = 12, 8
PLANE_MM, FAR_MM, FACE_RADIUS_MM = 120.0, 60.0, 40.0
STANDS, TO_GO = "12.0 µm to the rear, 8.0 µm up", "12.0 µm to the front and 8.0 µm down"
REAR, UP, LENGTH = "12.0 µm to the rear", "8.0 µm up", "14.4 µm"
LEANS_REAR, LEANS_UP = "12.0 µm per 100 mm to the rear", "8.0 µm per 100 mm up"
LEANS = "14.4 µm per 100 mm"
# Kind of check: quantity, surface, the figure that every page and paper tells, what the pages of
# the sweep and of the check say besides. √(12² + 8²) is 14.4, a dial that sweeps it shows twice
# that.
KINDS = {
    "TIR": ("tir", "bore", "28.8 µm", [f"Offset {LENGTH}", f"To the rear {REAR[:7]}"]),
    "front": ("front", "bore", REAR, [f"Offset to the front or rear {REAR}", f"Up {UP[:6]}"]),
    "up": ("up", "boss", UP, [f"Offset up or down {UP}", f"To the rear {REAR[:7]}"]),
    "tilt": ("tilt", "bore", LEANS, ["to the rear and up", "Leans to the rear 12.0 µm"]),
    "tilt front": (
        "tilt front",
        "bore",
        LEANS_REAR,
        [f"Tilt to the front or rear {REAR}", "Leans up 8"],
    ),
    "tilt up": ("tilt up", "boss", LEANS_UP, [f"Tilt up or down {UP}", "Leans to the rear 12.0"]),
    "face": ("tilt", "face", LEANS, ["to the rear and up", "Leans to the rear 12.0 µm"]),
    "face front": ("tilt front", "face", LEANS_REAR, [f"Squareness, sideways {REAR}"]),
    "face up": ("tilt up", "face", LEANS_UP, [f"Squareness, in height {UP}"]),
    "bar": ("tilt", "bar", LEANS, ["free end stands up", "free end stands to the rear"]),
    "bar front": ("tilt front", "bar", LEANS_REAR, [f"Parallelism, sideways {REAR}"]),
    "bar up": ("tilt up", "bar", LEANS_UP, [f"Parallelism, in height {UP}"]),
    "flat in height": ("up", "flat", UP, [f"Centre height {UP}", f"from the axis {UP}"]),
    "flat sideways": ("front", "flat", REAR, [f"Centre position {REAR}", f"from the axis {REAR}"]),
    "offset": ("offset", "bore", LENGTH, ["to the rear and up", f"Up {UP[:6]}"]),
}
DIAL = ("TIR", "front", "up", "offset")  # those that tell where the station stands
WAYS_TO_GO = {"flat in height": "8.0 µm down", "flat sideways": "12.0 µm to the front"}
STOOD = {"flat in height": (0, UP_UM), "flat sideways": (-REAR_UM, 0)}

WAY = r"[\d.]+ µm (?:to the front|to the rear|up|down)"
# The limits of 50 µm, drawn to both sides, aside.
OTHER_WAY = re.compile(
    r"\b(?!50\.0)[1-9][\d.]* µm(?: per 100 mm)?(?:: the free end stands)? (?:to the front|down)"
    r"|(?:To the front|Down|Leans to the front|Leans down) [1-9]"
)

every_view = pytest.mark.parametrize(
    ("holder", "look", "headstock"),
    [
        ("datum", "to the headstock", "left"),
        ("station", "to the headstock", "right"),
    ],
)


@pytest.fixture
def housing(machine, contractor, shop):
    """The guide bushing housing, with a way to shift it, alone without lines of a sheet, all in
    µm."""
    shop.length_unit = contractor.length_unit = "um"
    shop.save()
    contractor.save()
    AcceptanceItem.objects.filter(sheet__machine=machine).delete()
    station = station_of(machine, "guide bushing")
    station.plane_mm = PLANE_MM
    AdjustingWay.objects.create(station=station, kind="shift")
    return station


def looked_at(housing, holder, look, headstock):
    housing.indicator_in, housing.look = holder, look
    housing.save()
    type(housing.machine).objects.update(headstock_side=headstock)
    housing.machine.headstock_side = headstock


def line_of(station, kind):
    quantity, surface, *_ = KINDS[kind]
    given = {"quantity": quantity, "surface": surface, "upper_um": Decimal(50)}
    given |= {"sheet": station.machine.sheets.get(), "position": 60 + station.items.count()}
    given |= {"lower_um": Decimal(-50)} if quantity in SIGNED else {}
    return AcceptanceItem.objects.create(station=station, name=f"as asked, {kind}", **given)


def entry_of(item):
    """What is typed of a housing that stands 12 µm to the rear and 8 up, and leans as much."""
    # By so much of one reading every figure is known to tenths, which is how all places show it.
    in_um = {"unit": "um", "reading_u": "0.2"}
    if item.surface == "bar":  # read at the front: pushed in by what comes to the front
        return bar(("0", "0", "0", "0", "0"), ("100", "8", "-12", "8", "-12"), **in_um)
    if item.surface == "flat":
        # Sideways plus is to the dial's right.
        hand = 1 if item.view.front_at == "right" else -1
        off_um = UP_UM if item.quantity == "up" else -REAR_UM * hand
        return flat(["0", "", "0", ""], [str(off_um - 10_000)], diameter="20000", **in_um)
    planes = (0.0, FAR_MM) if item.needs_planes else (0.0,)
    shows = [shown(item, reach) for reach in planes]
    entry = typed(shows, planes, "as found", item.surface) | in_um
    if item.surface == "face":
        entry |= {"sag_on": "face", "radius": f"{FACE_RADIUS_MM:g} mm"}
    return entry


def shown(item, reach_mm):
    """What the dial of a simulated lathe shows, ``reach_mm`` beyond the swept plane."""
    lathe, off = Lathe(item.station.machine.headstock_side), (-REAR_UM, UP_UM)
    lathe.put("headstock", 0, 0)
    lathe.put("housing", *off, *off, at_mm=PLANE_MM)
    ends = ("headstock", "housing")
    carrier, swept = ends if item.station.indicator_in == "datum" else reversed(ends)
    away = item.station.look == "from the headstock"
    at_mm = PLANE_MM + (reach_mm if away else -reach_mm)
    radius = FACE_RADIUS_MM if item.surface == "face" else 12.0
    how = {"surface": item.surface, "radius_mm": radius}
    return Indicator(away).sweep(lathe, carrier, swept, at_mm, ANGLES, **how)


def read(page):
    """A page as it is read: no tags, one space between words."""
    bare = html.unescape(re.sub(r"<[^>]+>", " ", page.content.decode()))
    return " ".join(bare.split())


def said_of_each(items, visit, client):
    """What the pages of each line say as it is swept: (name of the page, kind) to text."""
    said = {}
    for kind, item in items.items():
        entry = entry_of(item)
        said["try", kind] = read(client.post(sweep_url(visit, item, "try_sweep"), entry))
        client.post(sweep_url(visit, item), entry | {"save": "check"})
        check = visit.checks.get(item=item, typed_with=None)
        said["check", kind] = read(client.get(f"{check.get_absolute_url()}?unit=um"))
        said["item", kind] = read(client.get(item.get_absolute_url()))
    return said


def said_of_all(visit, station, client, contractor):
    """What is said of all lines in one place: name of the page or paper to text."""
    machine = station.machine
    adjust = reverse("alignment:adjust", args=[visit.pk, station.pk])
    pages = {
        "visit": reverse("shop:visit", args=[visit.pk]),
        "adjust": f"{adjust}?unit=um",
        "positions": reverse("alignment:placed", args=[machine.pk]),
        "machine": machine.get_absolute_url(),
    }
    visit.refresh_from_db()
    report = report_of(visit)
    parts = [Section("", part(report)) for part in (sections.chain, sections.pictures)]
    later = timezone.now() + timedelta(seconds=1)
    history = build_history(machine, number="MH-1", made_by=contractor, at=later)
    papers = {"report": words_of(build_document(META, parts)), "history": words_of(history)}
    return {name: read(client.get(url)) for name, url in pages.items()} | papers


@every_view
def test_every_page_and_paper_tells_one_figure_and_one_direction(
    holder, look, headstock, housing, taken_up, at_work, contractor
):
    looked_at(housing, holder, look, headstock)
    items = {kind: line_of(housing, kind) for kind in KINDS}
    each = said_of_each(items, taken_up, at_work)
    everywhere = said_of_all(taken_up, housing, at_work, contractor)
    for kind, (_quantity, _surface, figure, besides) in KINDS.items():
        assert figure in each["item", kind], kind
        assert [name for name in TABLES if figure not in everywhere[name]] == [], kind
        for words in besides:
            assert words in each["try", kind], (kind, words)
            assert words in each["check", kind], (kind, words)
        if to_go := TO_GO if kind in DIAL else WAYS_TO_GO.get(kind):
            assert f"move the {housing} {to_go}" in each["try", kind], kind
            assert f"move the {housing} {to_go}" in each["check", kind], kind
        assert_csv_tells(kind, at_work, items[kind])
    assert f"move the {housing} {TO_GO}" in everywhere["adjust"]
    assert [n for n in ("adjust", "positions", "report") if STANDS not in everywhere[n]] == []
    wrong = {name: found[0] for name, text in (each | everywhere).items() if (found := other(text))}
    assert wrong == {}


TABLES = ("visit", "machine", "report", "history")


def assert_csv_tells(kind, client, item):
    """A row for the check that was typed, and one for each that another line's readings answered:
    all of them tell the same."""
    series = client.get(reverse("alignment:series_csv", args=[item.pk]))
    rows = list(csv.DictReader(io.StringIO(series.content.decode())))
    assert rows, kind
    for row in rows:
        assert_row_tells(kind, row)


def assert_row_tells(kind, row):
    names = ("stands, front (+) / rear (-), µm", "stands, up (+) / down (-), µm")
    places = [float(row[name]) for name in names]
    assert places == pytest.approx(STOOD.get(kind, (-REAR_UM, UP_UM)), abs=0.15), kind
    (value,) = (float(row[name]) for name in row if name.startswith("value, "))
    figure = KINDS[kind][2]
    size = float(figure.split()[0])
    assert value == pytest.approx(-size if "rear" in figure else size, abs=0.15), kind


def test_the_page_of_positions_tells_the_lean_as_well(housing, taken_up, at_work):
    looked_at(housing, "datum", "to the headstock", "left")
    for kind in ("offset", "tilt"):
        item = line_of(housing, kind)
        at_work.post(sweep_url(taken_up, item), entry_of(item) | {"save": "check"})
    page = read(at_work.get(reverse("alignment:placed", args=[housing.machine_id])))
    assert re.search(f"housing {STANDS} [\\d.]+ µm {STANDS}", page)


@pytest.mark.parametrize(
    ("look", "side"), [("from the headstock", "front"), ("to the headstock", "rear")]
)
def test_the_boxes_of_a_flat_sideways_say_which_way_is_plus(look, side, housing, taken_up, at_work):
    housing.look = look
    housing.save()
    page = read(at_work.get(sweep_url(taken_up, line_of(housing, "flat sideways"))))
    assert f"Read both from the {side}: what stands further to the {side} reads plus." in page


def other(text):
    """Where the housing is said to stand to the front or down, the way to go left out."""
    text = re.sub(
        rf"(?:move the guide bushing housing|Move it|Shift the casting) {WAY}(?: and {WAY})?",
        "",
        text,
    )
    return OTHER_WAY.search(text)
