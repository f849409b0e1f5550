"""Meter readings as they stand in a list from a spreadsheet or a machine's own record.

The first line names the columns: machine, when, meter, reading, and if wanted new meter. Cells are
parted by commas, semicolons or tabs. What can be read in two ways is refused, never guessed.
"""

import csv
import re
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal, InvalidOperation

from shop.web.errors import Refused
from shop.web.moments import in_zone, passed

LONGEST_LIST = 5000
COLUMNS = ("machine", "when", "meter", "reading")
NEW_METER = "new meter"
METERS = {
    "spindle hours": "spindle hours",
    "hours": "spindle hours",
    "h": "spindle hours",
    "parts made": "parts made",
    "parts": "parts made",
}
_YES, _NO = {"yes", "y", "x", "1", "true", "new"}, {"", "no", "n", "0", "false"}
_WHEN = re.compile(r"\d{4}-\d{2}-\d{2}([T ]\d{2}:\d{2}(:\d{2})?)?")
_LARGEST = Decimal(10) ** 11


@dataclass
class ReadingRow:
    """One line: what was typed, what it comes to, and what is wrong with it."""

    line: int
    typed: dict
    machine: object = None
    kind: str = ""
    read_at: datetime | None = None
    value: Decimal | None = None
    new_meter: bool = False
    wrong: list = field(default_factory=list)


def read_list(text, machines, zone, now):
    """The rows of a list.

    machines: number to machine, those that may be named. zone: the shop's, in which times stand.
    Raises ValueError when the list as a whole cannot be read: no lines, missing columns, or more
    than `LONGEST_LIST` lines. What is wrong with one line stands in its row.
    """
    lines = [line for line in text.lstrip("\ufeff").splitlines() if line.strip()]
    if len(lines) < 2:
        raise ValueError("The list is empty: expected a line of column names, then readings.")
    if len(lines) > LONGEST_LIST + 1:
        raise ValueError(f"The list has over {LONGEST_LIST:,} readings; import it in parts.")
    delimiter = max(";\t,", key=lines[0].count)
    reader = csv.reader(lines, delimiter=delimiter)
    names = [name.strip().lower() for name in next(reader)]
    if missing := [name for name in COLUMNS if name not in names]:
        raise ValueError(
            f"The first line lacks the column {', '.join(missing)}. "
            f"Expected: {', '.join(COLUMNS)}, and if wanted {NEW_METER}."
        )
    return [
        _read(number, dict(zip(names, cells, strict=False)), machines, zone, now)
        for number, cells in enumerate(reader, start=2)
    ]


def _read(line, cells, machines, zone, now):
    row = ReadingRow(line, {name: cells.get(name, "").strip() for name in (*COLUMNS, NEW_METER)})
    for part in (_machine, _when, _meter, _reading, _new_meter):
        try:
            part(row, machines, zone, now)
        except ValueError as error:
            row.wrong.append(str(error))
    return row


def _machine(row, machines, zone, now):
    row.machine = machines.get(row.typed["machine"])
    if row.machine is None:
        raise ValueError(f"There is no machine '{row.typed['machine']}' in this shop.")


def _when(row, machines, zone, now):
    typed = row.typed["when"]
    if not _WHEN.fullmatch(typed):
        raise ValueError(f"'{typed}' is no date; expected one such as 2026-03-05 or with 14:30.")
    try:
        row.read_at = passed(in_zone(datetime.fromisoformat(typed), zone), zone, now)
    except (ValueError, OverflowError):  # the latter in the calendar's first and last hours
        raise ValueError(f"'{typed}' is not on the calendar or the clock.") from None
    except Refused as refusal:
        raise ValueError(str(refusal)) from None


def _meter(row, machines, zone, now):
    row.kind = METERS.get(row.typed["meter"].lower(), "")
    if not row.kind:
        raise ValueError(f"'{row.typed['meter']}' is no meter; expected hours or parts.")


def _reading(row, machines, zone, now):
    typed = row.typed["reading"].replace(" ", "").replace("'", "")
    if "," in typed:
        if not re.fullmatch(r"\d+,\d{1,2}", typed):
            raise ValueError(f"'{typed}' can be read in two ways; write it without thousands.")
        typed = typed.replace(",", ".")
    try:
        value = Decimal(typed)
    except InvalidOperation:
        raise ValueError(f"'{typed}' is no number.") from None
    if not value.is_finite() or not 0 <= value < _LARGEST:
        raise ValueError(f"'{typed}' is not what a meter shows.")
    if value != round(value, 1):
        raise ValueError(f"'{typed}' has more than one place after the point.")
    row.value = round(value, 1)


def _new_meter(row, machines, zone, now):
    typed = row.typed[NEW_METER].lower()
    if typed not in _YES | _NO:
        raise ValueError(f"'{typed}' under {NEW_METER}: expected yes or nothing.")
    row.new_meter = typed in _YES
