"""A blank check sheet on paper: a machine's chain with boxes to write the readings in."""

from collections import Counter, defaultdict
from datetime import datetime, time
from functools import partial

from reportlab.platypus import KeepTogether, Table

from alignment.figures.blank import BlankDial
from alignment.geometry.measure.quantity import FRONT, OFFSET, UP
from alignment.sheets import formatting
from alignment.sheets.cautions import MANUAL_FIRST, SWEEPING
from alignment.sheets.layouts import FIXED
from alignment.sheets.models import AcceptanceItem
from shop.paper.documents import (
    DocumentMeta,
    Letterhead,
    Section,
    build_document,
    caution_box,
    check_block,
    heading,
    key_values,
    paragraph,
)
from shop.paper.documents import styles as printed
from shop.paper.drawing import to_flowable
from shop.paper.issuing import issue_again
from shop.paper.letters import letterhead
from shop.paper.models import Document
from shop.paper.palettes import PRINT
from shop.web.wording import day_text

from .answers import seen_alike
from .models import Check

POINTS = tuple(FIXED)
# What is read in rows: along a bar at some places, on a bar and a flat at three.
ROWS = {
    AcceptanceItem.Surface.BAR: ("at", "top", "side", "top turned", "side turned"),
    AcceptanceItem.Surface.FLAT: ("place", "on the bar", "on the flat"),
}
BLANK_ROWS, BLANK_ROW_HEIGHT = 3, 26
TEXT_SHARE = 0.34
# What one sweep tells all at once: where the centre of what it swept stands.
ONE_CENTRE = (FRONT, UP, OFFSET)
PLANES = ("near", "far")
VIEW = (
    "Clock positions are seen from the indicator's side, 0° at the top, clockwise; front is the "
    "operator's side. Plus is plunger pushed in. A bare number is in {unit}."
)
UNIT_WORDS = {"in": "inches", "mm": "millimetres"}
TO_FILL_IN = (
    "Swept by",
    "Day",
    "Indicator, serial",
    "Graduation",
    "Calibration due",
    "Sag",
    "Machine, °C",
    "Air, °C",
    "Spindle hours",
    "Warm or cold",
)
LINE = "_" * 12
NOTES = ("Notes", "Signed", "Signed for the shop")
NOTE_ROOM = 34


def issue_check_sheet(machine, *, firm, unit, points="4"):
    """The blank check sheet of a machine's chain as an issued document; asked for again on the
    same day, the one that was issued.

    firm: the `Firm` it comes from, None for the shop's own. unit: "in" or "mm". points: "4" or
    "8", the boxes of each sweep. Stations stand in checking order; one without a line on the sheet
    in force is named as such.
    """
    day = machine.shop.today
    return issue_again(
        partial(_build, machine, firm, unit, points, day),
        shop=machine.shop,
        firm=firm,
        kind=Document.Kind.CHECK_SHEET,
        number=f"CS-{machine.number}-{day:%Y%m%d}",
    )


def _build(machine, firm, unit, points, day, number, check):
    sheet = machine.sheets.filter(is_current=True).first()
    meta = DocumentMeta(
        firm=letterhead(firm) if firm else _shop_s_own(machine.shop),
        title="Check sheet",
        number=number,
        date=day_text(day),
        about=[
            ("Machine", f"{machine.number}: {machine.name}"),
            ("Shop", machine.shop.name),
            ("Held against", _sheet_words(sheet)),
            ("Serial number", machine.serial),
        ],
        paper=(firm or machine.shop).paper_size,
        subject=f"Blank check sheet of machine {machine.number}",
        stamped_at=datetime.combine(day, time(), tzinfo=machine.shop.zone),
    )
    story = _story(machine, sheet, unit, points)
    if check:
        story.append(check_block(check.address, check.code, check.chain))
    return build_document(meta, [Section("", story)])


def _shop_s_own(shop):
    return Letterhead(name=shop.name, address=tuple(shop.address.splitlines()))


def _sheet_words(sheet):
    if sheet is None:
        return "no sheet is in force"
    return f"{sheet}{f', {day_text(sheet.dated)}' if sheet.dated else ''}"


def _story(machine, sheet, unit, points):
    story = [
        caution_box([*SWEEPING, MANUAL_FIRST]),
        key_values([(label, "") for label in TO_FILL_IN], columns=2),
        paragraph(VIEW.format(unit=UNIT_WORDS[unit]), small=True),
    ]
    items = AcceptanceItem.objects.filter(sheet=sheet).select_related(
        "station__datum", "station__machine", "measured_from"
    )
    for station in machine.stations.current().select_related("datum"):
        here = [item for item in items if item.station_id == station.pk]
        blocks = [_swept(lines, unit, points) for lines in _by_sweep(here)]
        blocks = blocks or [paragraph("No line on the sheet in force.")]
        story.append(KeepTogether([*_station(station), blocks[0]]))
        story += blocks[1:]
    return [*story, KeepTogether([heading("Notes and signatures", 2), _room_to_write()])]


def _room_to_write():
    """Room for notes and for both signatures."""
    return Table(
        [[paragraph(words, small=True), ""] for words in NOTES],
        colWidths=[0.2 * printed.TEXT_WIDTH, 0.8 * printed.TEXT_WIDTH],
        rowHeights=NOTE_ROOM,
        style=[
            ("BOX", (0, row), (-1, row), printed.THIN, printed.HEAVY_RULE)
            for row in range(len(NOTES))
        ],
    )


def _by_sweep(items):
    """The lines that one sweep tells, together: sideways, height and offset at one place, each the
    only one of its quantity there."""
    count = Counter((seen_alike(item), item.at_mm, item.quantity) for item in items)
    together = defaultdict(list)
    for item in items:
        place = seen_alike(item), item.at_mm
        shares = item.quantity in ONE_CENTRE and item.surface not in ROWS
        alone = not shares or count[(*place, item.quantity)] > 1
        together[place, item.pk if alone else None].append(item)
    return list(together.values())


def _station(station):
    measured_from = f"Measured from the {station.datum}. " if station.datum else ""
    words = f"{measured_from}{station.how}".strip()
    title = heading(f"{station.position}. {station}", level=2)
    return [title, paragraph(words, small=True)] if words else [title]


def _swept(items, unit, points):
    """What is measured on the left, boxes for as found and as left on the right."""
    boxes = _rows if items[0].surface in ROWS else _dials
    dials = [boxes(items[0], phase, points) for phase in Check.Phase.values]
    left = printed.TEXT_WIDTH * TEXT_SHARE
    right = (printed.TEXT_WIDTH - left) / len(dials)
    told = [words for item in items for words in _words(item, unit)]
    return Table(
        [[told, *dials]],
        colWidths=[left, *[right] * len(dials)],
        style=[
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LEFTPADDING", (0, 0), (0, -1), 0),
            ("TOPPADDING", (0, 0), (-1, -1), 1),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 1),
        ],
    )


def _dials(item, phase, points):
    """A dial, and where it returned to zero; of a tilt one for each of two planes."""
    titles = [f"{phase}, {plane}, z {LINE}" for plane in PLANES] if item.needs_planes else [phase]
    told = []
    for title in titles:
        blank = BlankDial(title, FIXED[points], item.view.front_at)
        told += [to_flowable(blank.drawing(PRINT)), paragraph(f"Back at 0°: {LINE}", small=True)]
    return told


def _rows(item, phase, _points):
    """Boxes in rows for what is not swept round."""
    head = ROWS[item.surface]
    width = printed.TEXT_WIDTH * (1 - TEXT_SHARE) / 2 - 14
    cells = [[paragraph(words, small=True) for words in head]]
    cells += [[""] * len(head) for _ in range(BLANK_ROWS)]
    grid = Table(
        cells,
        colWidths=[width / len(head)] * len(head),
        rowHeights=[None, *[BLANK_ROW_HEIGHT] * BLANK_ROWS],
        style=[
            ("GRID", (0, 0), (-1, -1), printed.THIN, printed.HEAVY_RULE),
            ("LEFTPADDING", (0, 0), (-1, -1), 2),
            ("RIGHTPADDING", (0, 0), (-1, -1), 1),
        ],
    )
    return [paragraph(phase), grid]


def _words(item, unit):
    factory = "–"
    if item.own_um is not None:
        factory = formatting.stated(item.own_um, unit, item)
    return [
        paragraph(f"{item.name[0].upper()}{item.name[1:]}"),
        paragraph(f"{formatting.quantity_words(item)}, {item.get_surface_display()}", small=True),
        paragraph(f"Tolerance {formatting.limits(item, unit)}, factory {factory}", small=True),
        paragraph(f"As found {LINE}"),
        paragraph(f"As left {LINE}"),
    ]
