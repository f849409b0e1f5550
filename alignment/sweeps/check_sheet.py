"""A blank check sheet on paper: a machine's chain with boxes to write the readings in."""

from datetime import datetime, time
from functools import partial

from reportlab.platypus import KeepTogether, Table

from alignment.figures.blank import BlankDial
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

from .models import Check

POINTS = tuple(FIXED)
# What is read in rows: along a bar at some places, on a bar and a flat at three.
ROWS = {
    AcceptanceItem.Surface.BAR: ("at", "top", "side", "top turned", "side turned"),
    AcceptanceItem.Surface.FLAT: ("place", "on the bar", "on the flat"),
}
BLANK_ROWS, BLANK_ROW_HEIGHT = 3, 22
TEXT_SHARE = 0.36
VIEW = (
    "Clock positions are seen from the indicator's side, 0° at the top, clockwise; front is the "
    "operator's side. Plus is plunger pushed in. A bare number is in {unit}."
)
UNIT_WORDS = {"in": "inches", "mm": "millimetres"}
TO_FILL_IN = ("Swept by", "Day", "Indicator", "Graduation", "Sag", "Made on")


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
        blocks = [_item(item, unit, points) for item in items if item.station_id == station.pk]
        blocks = blocks or [paragraph("No line on the sheet in force.")]
        story.append(KeepTogether([*_station(station), blocks[0]]))
        story += blocks[1:]
    return story


def _station(station):
    measured_from = f"Measured from the {station.datum}. " if station.datum else ""
    words = f"{measured_from}{station.how}".strip()
    title = heading(f"{station.position}. {station}", level=2)
    return [title, paragraph(words, small=True)] if words else [title]


def _item(item, unit, points):
    """What is measured on the left, boxes for as found and as left on the right."""
    boxes = _rows if item.surface in ROWS else _dial
    dials = [boxes(item, phase, points) for phase in Check.Phase.values]
    left = printed.TEXT_WIDTH * TEXT_SHARE
    right = (printed.TEXT_WIDTH - left) / len(dials)
    return Table(
        [[_words(item, unit), *dials]],
        colWidths=[left, *[right] * len(dials)],
        style=[("VALIGN", (0, 0), (-1, -1), "TOP"), ("LEFTPADDING", (0, 0), (0, -1), 0)],
    )


def _dial(item, phase, points):
    blank = BlankDial(phase, FIXED[points], item.view.front_at)
    return to_flowable(blank.drawing(PRINT))


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
        paragraph(f"Tolerance {formatting.limits(item, unit)}"),
        paragraph(f"Factory {factory}"),
        paragraph("As found comes to: ____________"),
        paragraph("As left comes to: ____________"),
    ]
