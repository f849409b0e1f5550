"""Lists: sorted and paged as the address asks, and taken out as CSV."""

import csv
import re
from dataclasses import dataclass

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.utils.http import content_disposition_header

PAGE_SIZE = 25
KEYS = ("pk", "-pk", "id", "-id")
EXPORT = "_export"

# A spreadsheet takes a cell that begins with one of these for a formula (OWASP, CSV injection).
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
NUMBER = re.compile(r"[+-]?\d+(\.\d+)?")


# No key of a record is longer, and a computer takes its time over numbers that are.
MOST_DIGITS = 18


def whole_number(text):
    """The whole number that a text of an address or a form is; None where it is none."""
    return int(text) if text.isdecimal() and len(text) <= MOST_DIGITS else None


@dataclass(frozen=True)
class OpenPage:
    """A page of something of which nobody has counted how much there is."""

    object_list: list
    number: int
    has_next: bool

    def __iter__(self):
        return iter(self.object_list)

    @property
    def has_previous(self):
        return self.number > 1

    @property
    def has_other_pages(self):
        return self.has_previous or self.has_next

    @property
    def previous_page_number(self):
        return self.number - 1

    @property
    def next_page_number(self):
        return self.number + 1


def arrange(request, table):
    """Sort and page a table as the address asks; the size of a page is not for the address."""
    table.request = request
    if order := request.GET.getlist(table.prefixed_order_by_field):
        table.order_by = order
    if hasattr(table.data.data, "query"):
        table.data.data = with_key(table.data.data)
    table.paginate(per_page=PAGE_SIZE)
    table.page = table.paginator.get_page(request.GET.get(table.prefixed_page_field))
    return table


def with_key(rows):
    """A queryset in its order, what ties parted by the key.

    A database gives ties in any order, another one for each page: rows would stand on two pages and
    others on none. The key goes the way of the last of the order, so that one index can serve both.
    """
    order = list(rows.query.order_by or rows.query.get_meta().ordering)
    if order and order[-1] in KEYS:
        return rows.order_by(*order)
    backward = order and (
        order[-1].startswith("-") if isinstance(order[-1], str) else _is_descending(order[-1])
    )
    return rows.order_by(*order, "-pk" if backward else "pk")


def _is_descending(expression):
    return getattr(expression, "descending", False)


def page_of(request, rows):
    """The page of a queryset that the address asks for."""
    return Paginator(with_key(rows), PAGE_SIZE).get_page(request.GET.get("page"))


def wants_csv(request):
    return request.GET.get(EXPORT) == "csv"


def csv_of(table, name):
    """All rows of a table, in its order, as a CSV download of raw values."""
    response = HttpResponse(
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": content_disposition_header(True, f"{name}.csv")},
    )
    writer = csv.writer(response)
    for row in table.as_values():
        writer.writerow([harmless(cell) for cell in row])
    return response


def harmless(cell):
    """The cell, marked as text where a spreadsheet would run it as a formula; numbers stay."""
    if isinstance(cell, str) and cell.startswith(FORMULA_STARTS) and not NUMBER.fullmatch(cell):
        return f"'{cell}"
    return cell


def cells_of(text):
    """[(number of the line, its cells)] of a CSV text without its empty lines, parted by what parts
    most of the first.

    Raises ValueError for what is no text and for a line that cannot be parted.
    """
    if "\0" in text:
        raise ValueError("This is no text: expected a CSV file.")
    lines = text.lstrip("\ufeff").splitlines()
    first = next((line for line in lines if line.strip()), "")
    try:
        rows = list(csv.reader(lines, delimiter=max(";\t,", key=first.count)))
    except csv.Error as error:
        raise ValueError(f"The list cannot be parted into cells: {error}.") from error
    return [(number, cells) for number, cells in enumerate(rows, start=1) if any(cells)]


def columns_of(head, known, needed=()):
    """{part: place} of the columns that the first line of a list names.

    known: {part: names it may have, the first its usual one}. Raises ValueError for a column given
    twice and for one that is needed and missing.
    """
    names = [name.strip().casefold() for name in head]
    places = {}
    for part, called in known.items():
        found = [place for place, name in enumerate(names) if name in called]
        if len(found) > 1:
            raise ValueError(f"The column {called[0]} is given twice in the first line.")
        places |= {part: found[0]} if found else {}
    if missing := [known[part][0] for part in needed if part not in places]:
        raise ValueError(
            f"The first line lacks the column {', '.join(missing)}. "
            f"Known are: {', '.join(called[0] for called in known.values())}."
        )
    return places
