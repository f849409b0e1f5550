"""Every list goes out as CSV, and no spreadsheet runs what somebody typed.

Which cells a spreadsheet takes for formulas: OWASP, "CSV Injection".
"""

import csv
import io
import re
from importlib import import_module

import django_tables2
import pytest
from django.urls import reverse

from alignment.sheets.models import AcceptanceItem
from alignment.sweeps.models import Indicator
from machines.drive.models import Part
from machines.planning.models import Plan
from machines.register.models import Machine, MeterReading
from shop.people.models import User

# Each table of the three apps and the address of its list; a new table gets its line here.
LISTS = {
    "VisitTable": lambda machine: reverse("shop:visits"),
    "QuoteTable": lambda machine: reverse("shop:quotes"),
    "StatementTable": lambda machine: reverse("shop:statements"),
    "MachineTable": lambda machine: reverse("machines:machines"),
    "MeterReadingTable": lambda machine: reverse("machines:meters", args=[machine.pk]),
    "PartTable": lambda machine: reverse("machines:parts"),
    "HistoryTable": lambda machine: reverse("machines:history", args=[machine.pk]),
    "PlanTable": lambda machine: reverse("machines:plans"),
    "DueTable": lambda machine: reverse("machines:due"),
    "ClosingTable": lambda machine: reverse("machines:plan", args=[Plan.objects.get().pk]),
    "YearTable": lambda machine: reverse("machines:year", args=[machine.shop_id]),
    "CheckTable": lambda machine: reverse(
        "alignment:series_csv", args=[AcceptanceItem.objects.filter(checks__isnull=False)[0].pk]
    ),
    "IndicatorTable": lambda machine: reverse("alignment:indicators"),
    "SheetTable": lambda machine: reverse("alignment:sheet", args=[machine.pk]),
    "SheetsTable": lambda machine: reverse("alignment:sheets", args=[machine.pk]),
    "ChangeTable": lambda machine: reverse(
        "shop:changes", args=["machines", "machine", machine.pk]
    ),
    "DowntimeTable": lambda machine: reverse("machines:downtime", args=[machine.pk]),
    "RiskTable": lambda machine: reverse("alignment:risk"),
    "the bookkeeper's lines": lambda machine: reverse("shop:statement_lines"),
}
MODULES = ["shop.site_urls"]
FORMULA = "=HYPERLINK(1)"
NUMBER = re.compile(r"[+-]?\d+(\.\d+)?")


def tables_of_the_site():
    """The names of all tables that the three apps define."""
    for module in MODULES:
        import_module(module)
    found, waiting = set(), [django_tables2.Table]
    while waiting:
        for table in waiting.pop().__subclasses__():
            waiting.append(table)
            if table.__module__.split(".")[0] in {"shop", "machines", "alignment"}:
                found.add(table.__name__)
    return found


def test_every_table_of_the_site_is_among_these_lists():
    assert tables_of_the_site() <= set(LISTS), "give the new table its line in LISTS"


@pytest.fixture
def poisoned(told_shop, machine):
    """The shop with formulas wherever somebody may type and nothing is signed."""
    User.objects.update(first_name=FORMULA, last_name="@SUM(1)")
    Machine.objects.update(name=FORMULA, model_name="+1+1", serial="-1-1")
    Plan.objects.update(what=FORMULA)
    Part.objects.update(description="\tformula", maker=FORMULA)
    Indicator.objects.update(name=FORMULA)
    machine.sheets.update(name=FORMULA)
    assert MeterReading.objects.exists()
    return machine


def rows_of(client, address):
    answer = client.get(address, {"_export": "csv"})
    assert answer.status_code == 200
    assert answer["Content-Type"].startswith("text/csv")
    assert answer["Content-Disposition"].startswith("attachment")
    return list(csv.reader(io.StringIO(answer.content.decode())))


@pytest.mark.parametrize("name", LISTS)
def test_a_list_goes_out_without_a_formula(client, poisoned, owner, contractor, name):
    client.force_login(contractor if name == "IndicatorTable" else owner)
    head, *rows = rows_of(client, LISTS[name](poisoned))
    assert head
    assert rows, "the list of this test is empty"
    for cell in (cell for row in rows for cell in row):
        harmless = not cell.startswith(("=", "+", "-", "@", "\t", "\r"))
        assert harmless or NUMBER.fullmatch(cell), cell


def test_what_was_neutralised_is_there_as_text(client, poisoned, owner):
    client.force_login(owner)
    cells = {cell for row in rows_of(client, reverse("machines:machines")) for cell in row}
    assert f"'{FORMULA}" in cells
