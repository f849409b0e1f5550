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
from alignment.sheets.models import AcceptanceItem
from alignment.sweeps import report as sections
from machines.history.issued import build_history
from shop.paper.documents import Section, build_document
from shop.visits.reporting import report_of
from tests.alignment.conftest import sweep_url
from tests.alignment.test_bar_face_and_flat import bar, flat
from tests.alignment.test_one_state_everywhere import META, text_of
from tests.factories import station_of
from tests.simulated.lathe import Indicator, Lathe
from tests.simulated.site import ANGLES, typed

REAR_UM, UP_UM = 12, 8
PLANE_MM, FAR_MM = 120.0, 60.0
STANDS, TO_GO = "12.0 µm to the rear, 8.0 µm up", "12.0 µm to the front and 8.0 µm down"
# Kind of check: quantity, surface, the figure that every page and paper tells. √(12² + 8²) is
# 14.4, a dial that sweeps it shows twice that.
KINDS = {
    "offset": ("offset", "bore", "14.4 µm"),
    "TIR": ("tir", "bore", "28.8 µm"),
    "front": ("front", "bore", "-12.0 µm"),
    "up": ("up", "bore", "8.0 µm"),
    "tilt": ("tilt", "bore", "14 µm per 100 mm"),
    "bar": ("tilt", "bar", "14.4 µm per 100 mm"),
    "flat in height": ("up", "flat", "8.0 µm"),
    "flat sideways": ("front", "flat", "-12.0 µm"),
}
# What the pages of the sweep and of the check say besides.
BESIDES = {
    "offset": ["to the rear and up", "To the rear 12.0 µm", "Up 8.0 µm"],
    "TIR": ["Offset 14.4 µm", "To the rear 12.0 µm", "Up 8.0 µm"],
    "front": ["Offset to the front -12.0 µm", "Offset 14.4 µm", "Up 8.0 µm"],
    "up": ["Offset upwards +8.0 µm", "Offset 14.4 µm", "To the rear 12.0 µm"],
    "tilt": ["to the rear and up", "Leans to the rear 12 µm", "Leans up 8 µm"],
    "bar": ["8.0 µm per 100 mm: the free end stands up", "the free end stands to the rear"],
    "flat in height": ["Centre height +8.0 µm", "Stands from the axis 8.0 µm up"],
    "flat sideways": ["Centre position -12.0 µm", "Stands from the axis 12.0 µm to the rear"],
}
DIAL = ("offset", "TIR", "front", "up")  # those that tell where the station stands
WAYS_TO_GO = {"flat in height": "8.0 µm down", "flat sideways": "12.0 µm to the front"}
STOOD = {"flat in height": (0, UP_UM), "flat sideways": (-REAR_UM, 0)}

WAY = r"[\d.]+ µm (?:to the front|to the rear|up|down)"
OTHER_WAY = re.compile(
    r"[1-9][\d.]* µm(?: per 100 mm)?(?:: the free end stands)? (?:to the front|down)"
    r"|(?:To the front|Down|Leans to the front|Leans down) [1-9]"
)

every_holder = pytest.mark.parametrize(
    ("holder", "look"), [("datum", "to the headstock"), ("station", "from the headstock")]
)


@pytest.fixture
def housing(machine, contractor, shop):
    """The guide bushing housing, with a way to shift it, no line of a sheet, and all in µm."""
    shop.length_unit = contractor.length_unit = "um"
    shop.save()
    contractor.save()
    station = station_of(machine, "guide bushing")
    station.items.all().delete()
    station.plane_mm = PLANE_MM
    AdjustingWay.objects.create(station=station, kind="shift")
    return station


def line_of(station, kind):
    quantity, surface, _ = KINDS[kind]
    given = {"quantity": quantity, "surface": surface, "upper_um": Decimal(50)}
    given |= {"sheet": station.machine.sheets.get(), "position": 60 + station.items.count()}
    return AcceptanceItem.objects.create(station=station, name="as asked", **given)


def entry_of(item):
    """What is typed of a housing that stands, or by a tilt leans, 12 µm to the rear and 8 up."""
    in_um = {"unit": "um", "reading_u": "0.2"}
    if item.surface == "bar":  # read at the front: pushed in by what comes to the front
        return bar(("0", "0", "0", "0", "0"), ("100", "8", "-12", "8", "-12"), **in_um)
    if item.surface == "flat":
        # Sideways plus is to the dial's right, which is the rear where it looks to the headstock.
        hand = 1 if item.station.look == "from the headstock" else -1
        off_um = UP_UM if item.quantity == "up" else -REAR_UM * hand
        return flat(["0", "", "0", ""], [str(off_um - 10_000)], diameter="20000", **in_um)
    planes = (0.0, FAR_MM) if item.is_tilt else (0.0,)
    return typed([shown(item, reach) for reach in planes], planes, "as found", "bore")


def shown(item, reach_mm):
    """What the dial of a simulated lathe shows, ``reach_mm`` beyond the swept plane."""
    lathe, off = Lathe("left"), (-REAR_UM, UP_UM)
    lathe.put("headstock", 0, 0)
    lathe.put("housing", *((0, 0, *off) if item.is_tilt else off), at_mm=PLANE_MM)
    ends = ("headstock", "housing")
    carrier, swept = ends if item.station.indicator_in == "datum" else reversed(ends)
    away = item.station.look == "from the headstock"
    at_mm = PLANE_MM + (reach_mm if away else -reach_mm)
    return Indicator(away).sweep(lathe, carrier, swept, at_mm, ANGLES)


def read(page):
    """A page as it is read: no tags, one space between words."""
    bare = html.unescape(re.sub(r"<[^>]+>", " ", page.content.decode()))
    return " ".join(bare.split())


def said_of(item, visit, client, contractor):
    """What each page and paper says once the item was swept: name to text."""
    entry = entry_of(item)
    tried = read(client.post(sweep_url(visit, item, "try_sweep"), entry))
    client.post(sweep_url(visit, item), entry | {"save": "check"})
    check, machine = visit.checks.get(typed_with=None), item.station.machine
    pages = {
        "check": f"{check.get_absolute_url()}?unit=um",
        "adjust": reverse("alignment:adjust", args=[visit.pk, item.station.pk]),
        "positions": reverse("alignment:placed", args=[machine.pk]),
        "item": item.get_absolute_url(),
    }
    said = {name: read(client.get(url)) for name, url in pages.items()}
    visit.refresh_from_db()
    report = report_of(visit)
    parts = [Section("", part(report)) for part in (sections.chain, sections.pictures)]
    later = timezone.now() + timedelta(seconds=1)
    history = build_history(machine, number="MH-1", made_by=contractor, at=later)
    papers = {"report": text_of(build_document(META, parts)), "history": text_of(history)}
    return {"try": tried} | said | papers


def without(said, words, names):
    return [name for name in names if words not in said[name]]


@pytest.mark.parametrize("kind", KINDS)
@every_holder
def test_every_page_and_paper_tells_one_figure_and_one_direction(
    kind, holder, look, housing, taken_up, at_work, contractor
):
    housing.indicator_in, housing.look = holder, look
    housing.save()
    item = line_of(housing, kind)
    said = said_of(item, taken_up, at_work, contractor)
    assert without(said, KINDS[kind][2], ("item", "report", "history")) == []
    for words in BESIDES[kind]:
        assert without(said, words, ("try", "check")) == [], words
    if kind in DIAL:
        assert without(said, STANDS, ("adjust", "positions", "report")) == []
    if to_go := TO_GO if kind in DIAL else WAYS_TO_GO.get(kind):
        pages = ("try", "check", "adjust") if kind in DIAL else ("try", "check")
        assert without(said, f"move the {housing} {to_go}", pages) == []
    assert [name for name, text in said.items() if the_other_way(text)] == []
    series = at_work.get(reverse("alignment:series_csv", args=[item.pk]))
    (row,) = csv.DictReader(io.StringIO(series.content.decode()))
    places = float(row["stands to the front µm"]), float(row["stands up µm"])
    assert places == pytest.approx(STOOD.get(kind, (-REAR_UM, UP_UM)), abs=0.05)
    assert float(row["value µm"]) == pytest.approx(float(KINDS[kind][2].split()[0]), abs=0.5)


@every_holder
def test_the_page_of_positions_tells_the_lean_as_well(holder, look, housing, taken_up, at_work):
    housing.indicator_in, housing.look = holder, look
    housing.save()
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


def the_other_way(text):
    """Where the housing is said to stand to the front or down, the way to go left out."""
    text = re.sub(
        rf"(?:move the guide bushing housing|Move it|Shift the casting) {WAY}(?: and {WAY})?",
        "",
        text,
    )
    return OTHER_WAY.search(text)
