"""The blank check sheet: what is printed on it, for whom."""

import hashlib
import io

import pytest
from django.urls import reverse
from pypdf import PdfReader

from alignment.figures.blank import BlankDial
from shop.paper.models import Document
from tests.factories import AcceptanceItemFactory, station_of

# Sideways and height of the gang tool slide come of one sweep.
SHARED_SWEEPS = 1


def printed(client, machine, **given):
    """The answer to pressing the button."""
    return client.post(reverse("alignment:check_sheet", args=[machine.pk]), given, follow=True)


@pytest.fixture
def pages(client, contractor, machine):
    """The text of each page of the machine's check sheet."""

    def read(user=contractor, **query):
        client.force_login(user)
        response = printed(client, machine, **query)
        content = b"".join(response.streaming_content)
        return [page.extract_text() for page in PdfReader(io.BytesIO(content)).pages]

    return read


def test_stations_stand_in_checking_order(pages):
    text = "".join(pages())
    names = ["1. headstock", "2. guide bushing", "3. sub-spindle", "4. back tool", "5. gang tool"]
    places = [text.index(name) for name in names]
    assert places == sorted(places)


def test_tolerances_and_factory_figures_are_printed(pages):
    text = " ".join("".join(pages()).split())
    assert "Tolerance up to 0.01 mm" in text
    assert "factory 0.003 mm" in text
    assert "Tolerance ± 0.015 mm" in text


def test_they_are_printed_in_the_reader_s_unit(pages, contractor):
    contractor.length_unit = "in"
    contractor.save()
    assert "0.00039 in" in "".join(pages())


@pytest.mark.parametrize(("points", "boxes"), [("4", 4), ("8", 8), ("seven", 4)])
def test_each_item_has_a_box_at_each_clock_position_before_and_after(pages, machine, points, boxes):
    text = "".join(pages(points=points))
    sweeps = machine.sheets.get().items.count() - SHARED_SWEEPS
    assert sum(text.count(f"\n{angle}°") for angle in range(0, 360, 45)) == boxes * sweeps * 2


def test_a_box_has_room_for_a_greasy_pen_and_its_label_outside():
    """16 × 9 mm at least, 72 points to the inch of 25.4 mm."""
    for angles in ((0, 90, 180, 270), tuple(range(0, 360, 45))):
        shapes = BlankDial("as found", angles).drawing().contents
        boxes = [shape for shape in shapes if type(shape).__name__ == "Rect"]
        labels = [shape for shape in shapes if getattr(shape, "text", "").endswith("°")]
        assert len(boxes) == len(labels) == len(angles)
        for box in boxes:
            assert box.width >= 16 * 72 / 25.4
            assert box.height >= 9 * 72 / 25.4
            assert not any(_overlap(box, other) for other in boxes if other is not box)
            assert not any(_holds(box, label) for label in labels)


def _overlap(one, other):
    apart_x = one.x + one.width <= other.x or other.x + other.width <= one.x
    return not (apart_x or one.y + one.height <= other.y or other.y + other.height <= one.y)


def _holds(box, label):
    return box.x < label.x < box.x + box.width and box.y < label.y < box.y + box.height


def test_a_tilt_has_two_dials_with_their_z(pages, machine):
    AcceptanceItemFactory(
        sheet=machine.sheets.get(),
        station=station_of(machine, "guide bushing"),
        position=20,
        quantity="tilt",
        per_mm=100,
    )
    text = "".join(pages())
    for phase in ("as found", "as left"):
        assert text.count(f"{phase}, near, z ___") == text.count(f"{phase}, far, z ___") == 1


def test_what_the_day_was_like_and_who_signs_has_room(pages):
    text = " ".join("".join(pages()).split())
    for asked in ("Machine, °C", "Air, °C", "Spindle hours", "Back at 0°:", "Signed for the shop"):
        assert asked in text


def test_a_box_stands_where_the_clock_says():
    """90° is on the right and 180° at the bottom, seen from the indicator's side."""
    boxes = [
        shape
        for shape in BlankDial("as found", (90, 180)).drawing().contents
        if type(shape).__name__ == "Rect"
    ][-2:]
    right, bottom = ((box.x + box.width / 2, box.y + box.height / 2) for box in boxes)
    assert right[0] > bottom[0]
    assert right[1] > bottom[1]


def test_front_and_rear_stand_at_the_sides_of_each_dial(pages):
    text = "".join(pages())
    assert text.count("\nfront") == text.count("\nrear") >= 10


def test_the_cautions_are_printed(pages):
    assert "Lock out and discharge" in "".join(pages())


def test_a_contractor_s_sheet_bears_the_firm_and_an_owner_s_the_shop(pages, owner, firm, shop):
    assert firm.name in pages()[0].split("Check sheet")[0]
    assert shop.name in pages(user=owner)[0].split("Check sheet")[0]


def test_a_machine_without_a_sheet_still_gets_its_chain(pages, machine):
    machine.sheets.update(is_current=False)
    text = "".join(pages())
    assert "no sheet is in force" in text
    assert text.count("No line on the sheet in force.") == 5


def test_many_lines_go_on_over_pages(pages, machine):
    for position in range(20, 32):
        AcceptanceItemFactory(
            sheet=machine.sheets.get(),
            station=station_of(machine, "sub-spindle"),
            position=position,
        )
    assert f"of {len(pages())}" in pages()[-1]


def test_it_is_kept_with_its_hash_and_found_by_its_code(client, contractor, machine):
    client.force_login(contractor)
    printed(client, machine)
    document = Document.objects.get(kind="check sheet")
    content = document.file.read()
    assert document.sha256 == hashlib.sha256(content).hexdigest()
    assert document.code in PdfReader(io.BytesIO(content)).pages[-1].extract_text()
    page = client.get(reverse("shop:check", args=[document.code])).content.decode()
    assert f"check sheet {document.number}" in page


def test_asked_for_twice_on_a_day_it_is_issued_once(client, contractor, machine):
    client.force_login(contractor)
    for _ in range(2):
        printed(client, machine)
    assert Document.objects.count() == 1


def test_other_boxes_make_another_document_with_a_number_of_its_own(client, contractor, machine):
    client.force_login(contractor)
    for points in ("4", "8", "8"):
        printed(client, machine, points=points)
    first, second = Document.objects.order_by("pk")
    assert second.number == f"{first.number}-2"


def test_a_stranger_finds_none(client, stranger, machine):
    client.force_login(stranger)
    assert printed(client, machine).status_code == 404


@pytest.mark.parametrize(
    ("surface", "quantity", "said"),
    [("bar", "tilt front", "side turned"), ("flat", "up", "on the flat")],
)
def test_what_is_not_swept_round_gets_boxes_in_rows(pages, machine, surface, quantity, said):
    machine.sheets.get().items.all().delete()
    AcceptanceItemFactory(
        sheet=machine.sheets.get(),
        station=station_of(machine, "sub-spindle"),
        surface=surface,
        quantity=quantity,
    )
    text = " ".join("".join(pages()).split())
    assert text.count(said) == 2
    assert "270°" not in text
