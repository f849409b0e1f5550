"""Parts as they stand in a list from a spreadsheet, read and compared with the register.

The first line names the columns; number and description must be there. Cells are parted by commas,
semicolons or tabs. Decimals take a point.
"""

import csv
import re
from dataclasses import dataclass, field
from decimal import Decimal

LONGEST_LIST = 5000
NEEDED = ("number", "description")
COUNTED = {
    "lead_time_days": "lead time days",
    "minimum": "minimum",
    "on_shelf": "on shelf",
    "in_van": "in van",
}
LENGTHS = {"number": 40, "description": 120, "maker": 80}
_PRICE = re.compile(r"\d{1,8}(\.\d+)?")
_COUNT = re.compile(r"\d{1,4}")


@dataclass
class PartRow:
    """One line: the fields it gives, what becomes of it, and what is wrong with it."""

    line: int
    number: str = ""
    given: dict = field(default_factory=dict)
    wrong: list = field(default_factory=list)
    known: object = None

    @property
    def becomes(self):
        """'new', 'changed', 'as it was' or 'wrong'."""
        if self.wrong:
            return "wrong"
        if self.known is None:
            return "new"
        return "changed" if self.changes else "as it was"

    @property
    def changes(self):
        """(column, before, after) of what the line changes of a part on record."""
        if self.known is None:
            return []
        return [
            (name.replace("_", " "), getattr(self.known, name), value)
            for name, value in self.given.items()
            if getattr(self.known, name) != value
        ]


def read_list(text, known):
    """The rows of a list; `known` maps the numbers on record to their parts.

    Raises ValueError when the list as a whole cannot be read.
    """
    lines = [line for line in text.lstrip("\ufeff").splitlines() if line.strip()]
    if len(lines) < 2:
        raise ValueError("The list is empty: expected a line of column names, then parts.")
    if len(lines) > LONGEST_LIST + 1:
        raise ValueError(f"The list has over {LONGEST_LIST:,} parts; import it in parts.")
    delimiter = max(";\t,", key=lines[0].count)
    reader = csv.reader(lines, delimiter=delimiter)
    names = [name.strip().lower().replace(" ", "_") for name in next(reader)]
    if missing := [name for name in NEEDED if name not in names]:
        raise ValueError(
            f"The first line lacks the column {', '.join(missing)}. Expected: number, "
            f"description, and if wanted maker, price, {', '.join(COUNTED.values())}."
        )
    seen = {}
    return [_row(line, names, cells, known, seen) for line, cells in enumerate(reader, start=2)]


def _row(line, names, cells, known, seen):
    typed = {name: cell.strip() for name, cell in zip(names, cells, strict=False)}
    row = PartRow(line, typed.get("number", "").removeprefix("'"))
    if not row.number:
        row.wrong.append("no part number")
    elif row.number in seen:
        row.wrong.append(f"part number {row.number} stands in line {seen[row.number]} already")
    seen.setdefault(row.number, line)
    row.known = known.get(row.number)
    for name, value in typed.items():
        if name in LENGTHS:
            _take_text(row, name, value)
        elif name == "price":
            _take_price(row, value)
        elif name in COUNTED:
            _take_count(row, name, value)
    if not row.given.get("description"):
        row.wrong.append("no description")
    row.given.pop("number", None)
    return row


def _take_text(row, name, value):
    value = value.removeprefix("'") if value[1:2] in tuple("=+-@") else value
    if len(value) > LENGTHS[name]:
        row.wrong.append(f"{name} is longer than {LENGTHS[name]} characters")
    row.given[name] = value


def _take_price(row, value):
    if not value:
        row.given["price"] = None
    elif not _PRICE.fullmatch(value):
        row.wrong.append(f"price “{value[:20]}” is not a number such as 48.50")
    elif len(value.partition(".")[2]) > 2:
        row.wrong.append(f"price {value} has more than two decimals")
    else:
        row.given["price"] = Decimal(value).quantize(Decimal("0.01"))


def _take_count(row, name, value):
    if not value:
        row.given[name] = None if name == "lead_time_days" else 0
    elif _COUNT.fullmatch(value):
        row.given[name] = int(value)
    else:
        row.wrong.append(f"{COUNTED[name]} “{value[:20]}” is not a whole number up to 9999")
