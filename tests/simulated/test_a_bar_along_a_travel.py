"""A bar in a spindle, read along a travel on top and at a side: the page says where its free end
stands, whatever the indicator's view is set to, and the bar's own bend is not taken for it."""

import re
from decimal import Decimal

import pytest

from alignment.sheets.models import AcceptanceItem
from tests.alignment.conftest import sweep_url
from tests.alignment.test_bar_face_and_flat import bar
from tests.factories import station_of
from tests.simulated.lathe import Bar, Lathe
from tests.simulated.site import text_of

NOSE_MM, PLACES_MM = 160.0, (0.0, 100.0, 200.0)
# µm per 100 mm, going away from the headstock, by which the spindle leans off the travel.
SPINDLE, TRAVEL, BENT = (-14.0, 9.0), (5.0, -3.0), (7.0, 4.0)
VIEWS = [
    (holder, look)
    for holder in ("datum", "station")
    for look in ("from the headstock", "to the headstock")
]


@pytest.fixture
def lathe():
    def make(headstock):
        made = Lathe(headstock)
        made.put("slide", 3, -2, *TRAVEL)
        made.put("spindle", 20, 11, *SPINDLE, at_mm=NOSE_MM)
        return made

    return make


@pytest.fixture
def along_the_bar(machine, contractor, visit, client):
    """Types what is read of a simulated bar into the form of a line; returns the saved check's
    page."""
    client.force_login(contractor)
    contractor.length_unit = "um"
    contractor.save()
    item = AcceptanceItem.objects.create(
        sheet=machine.sheets.get(), station=station_of(machine, "sub-spindle"), position=70,
        name="travel to the spindle", quantity="tilt", surface="bar", upper_um=Decimal(60),
    )  # fmt: skip

    def make(lathe, turned, side, holder, look):
        station = type(item.station).objects.filter(pk=item.station_id)
        station.update(indicator_in=holder, look=look)
        type(machine).objects.update(headstock_side=lathe.headstock_side)
        rows = (
            [f"{place:g}" for place in PLACES_MM],
            *(
                [
                    f"{shown:.2f}"
                    for shown in turned.read(lathe, "slide", NOSE_MM, PLACES_MM, at, **how)
                ]
                for how in ({}, {"turned": True})
                for at in ("top", side)
            ),
        )
        data = bar(*zip(*rows, strict=True), side=side, unit="um", reading_u="0.3")
        answer = client.post(sweep_url(visit, item), data | {"save": "check"}, follow=True)
        check = visit.checks.latest("pk")
        page = client.get(f"{check.get_absolute_url()}?unit=um")
        return text_of(answer), text_of(page), check

    return make


@pytest.mark.parametrize("headstock", ["left", "right"])
@pytest.mark.parametrize("to_headstock", [False, True], ids=["faces away", "faces back"])
def test_the_free_end_is_told_where_it_stands(lathe, along_the_bar, headstock, to_headstock):
    made = lathe(headstock)
    turned = Bar("spindle", to_headstock, BENT)
    front, up = made.lean("spindle", "slide")
    free_front, free_up = (-front, -up) if to_headstock else (front, up)
    told = [
        f"{abs(free_up):.1f} µm per 100 mm: the free end stands {'up' if free_up > 0 else 'down'}",
        f"{abs(free_front):.1f} µm per 100 mm: the free end stands "
        f"{'to the front' if free_front > 0 else 'to the rear'}",
    ]
    for side in ("front", "rear"):
        for holder, look in VIEWS:
            saved, page, check = along_the_bar(made, turned, side, holder, look)
            assert "Saved" in saved, saved
            assert [words for words in told if words not in page] == [], (side, holder, look)
            # √(14² + 8²) off at 200 mm, which a dial shows twice as the bar turns; to a tenth.
            assert re.search(r"Bar runs out, far 32\.[123] µm", page), page
            assert check.stands_um == pytest.approx((free_front, free_up), abs=0.1)


def test_the_simulated_bar_leans_as_its_spindle_does_off_the_travel(lathe):
    made = lathe("left")
    assert made.lean("spindle", "slide") == pytest.approx((-19.0, 12.0), abs=1e-3)
    straight = Bar("spindle").read(made, "slide", NOSE_MM, PLACES_MM, "top")
    assert straight == pytest.approx([0, 12, 24], abs=0.05)
    assert Bar("spindle").read(made, "slide", NOSE_MM, PLACES_MM, "front") == pytest.approx(
        [0, -19, -38], abs=0.05
    )
