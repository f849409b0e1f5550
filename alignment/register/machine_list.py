"""Machines as they stand in a list from a spreadsheet, each made from a kind or like another one.

The first line names the columns. Cells are parted by commas, semicolons or tabs. A line says of
what kind the machine is, or like which machine of the shop, or of an earlier line, it is made.
"""

from dataclasses import dataclass, field

from machines.register.models import Machine
from shop.web.listing import FORMULA_STARTS, cells_of, columns_of, whole_number

from .blueprint import Blueprint, of_kind, of_machine

MOST_LINES = 10_000
# What is made while somebody waits for the page; common practice, no source.
MOST_MACHINES = 1_000
COLUMNS = {
    "number": ("number",),
    "kind": ("kind",),
    "like": ("like machine", "like"),
    "name": ("name",),
    "model_name": ("model",),
    "serial": ("serial number", "serial"),
    "built": ("year built", "built"),
    "note": ("note",),
}
TEXTS = {
    name: Machine._meta.get_field(name).max_length
    for name in ("number", "name", "model_name", "serial")
}
YEARS = range(1900, 2101)
TEMPLATE = """\
number,kind,like machine,name,model,serial number,year built,note
{number},{kind},,,,,,
{next_number},,{number},,,,,
"""


@dataclass
class MachineRow:
    """One line: what was typed, the machine it makes, and what is wrong with it."""

    number: int
    typed: dict
    said: dict = field(default_factory=dict)
    blueprint: Blueprint | None = None
    wrong: list = field(default_factory=list)

    @property
    def name(self):
        """What the machine is called: as typed, else as what it is made from."""
        return self.typed["name"] or (self.blueprint.machine["name"] if self.blueprint else "")

    @property
    def made_from(self):
        """In words: the kind, or the other machine."""
        like = self.typed["like"]
        return f"like machine {like}" if like else self.typed["kind"]


def template(kinds):
    """The text of a list to fill in: its columns, a machine of a kind, and one like that."""
    return TEMPLATE.format(number="1", next_number="2", kind=f'"{kinds[0].name}"')


def read_machines(text, shop, kinds):
    """The `Row`s of a list of machines for a shop.

    kinds: the `Choice`s of the person. Raises ValueError when the list as a whole cannot be read:
    no lines, too many, or columns that are missing or given twice. What is wrong with one line
    stands in its row.
    """
    lines = cells_of(text)
    if len(lines) < 2:
        raise ValueError("The list is empty: expected a line of column names, then machines.")
    if len(lines) > MOST_LINES + 1:
        raise ValueError(
            f"The list has {len(lines) - 1:,} lines; at most {MOST_LINES:,} are read. "
            "Is it the right file?"
        )
    places = columns_of(lines[0][1], COLUMNS, ("number",))
    reader = _Reader(shop, kinds)
    return [reader.read(number, cells, places) for number, cells in lines[1:]]


class _Reader:
    """Reads line by line and knows what stood in the lines before."""

    def __init__(self, shop, kinds):
        self.shop = shop
        self.kinds = {name.casefold(): one for one in kinds for name in (one.slug, one.name)}
        self.there = {machine.number: machine for machine in shop.machines.all()}
        self.before = {}
        self.blueprints = {}

    def read(self, number, cells, places):
        typed = {
            part: cells[places[part]].strip() if places.get(part, len(cells)) < len(cells) else ""
            for part in COLUMNS
        }
        row = MachineRow(number, typed)
        for step in (self._number, self._texts, self._built, self._source):
            try:
                step(row)
            except ValueError as error:
                row.wrong.append(str(error))
        self.before.setdefault(typed["number"], row)
        return row

    def _number(self, row):
        number = row.typed["number"]
        if not number:
            raise ValueError("It has no number.")
        if number in self.there:
            raise ValueError(f"{self.shop} has a machine {number} already.")
        if number in self.before:
            raise ValueError(f"Line {self.before[number].number} has machine {number} already.")

    def _texts(self, row):
        for name, longest in TEXTS.items():
            value = row.typed[name]
            if len(value) > longest:
                raise ValueError(f"{COLUMNS[name][0]} is longer than {longest} characters.")
            if value.startswith(FORMULA_STARTS):
                raise ValueError(f"{value[:20]!r} begins like a formula; expected words.")
            if value:
                row.said[name] = value
        if row.typed["note"]:
            row.said["note"] = row.typed["note"]

    def _built(self, row):
        typed = row.typed["built"]
        if typed and whole_number(typed) not in YEARS:
            raise ValueError(f"{typed[:20]!r} is no year; expected such as 2014.")
        if typed:
            row.said["built"] = int(typed)

    def _source(self, row):
        kind, like = row.typed["kind"], row.typed["like"]
        if bool(kind) == bool(like):
            raise ValueError("Give either its kind or the number of a machine it is like.")
        row.blueprint = self._of_kind(kind) if kind else self._like(like)

    def _of_kind(self, name):
        choice = self.kinds.get(name.casefold())
        if choice is None:
            known = "; ".join(dict.fromkeys(one.name for one in self.kinds.values()))
            raise ValueError(f"There is no kind {name[:60]!r}. There are: {known}.")
        return self._once(choice.slug, lambda: of_kind(choice.kind))

    def _like(self, number):
        if number in self.before and self.before[number].blueprint:
            return self.before[number].blueprint
        if number not in self.there:
            raise ValueError(
                f"There is no machine {number[:20]!r} at {self.shop}, nor in a line above."
            )
        return self._once(("like", number), lambda: of_machine(self.there[number]))

    def _once(self, key, make):
        if key not in self.blueprints:
            self.blueprints[key] = make()
        return self.blueprints[key]
