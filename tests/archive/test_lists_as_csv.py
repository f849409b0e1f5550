"""Every list goes out as CSV, and no spreadsheet runs what somebody typed.

The lists are found: whatever address of the access rules answers as CSV. Which cells a spreadsheet
takes for formulas: OWASP, "CSV Injection".
"""

import csv
import io
import re

import django_tables2
import pytest
from django.urls import reverse

from alignment.sweeps.models import Indicator
from machines.drive.models import Part
from machines.planning.models import Plan
from machines.register.models import Machine
from shop.people.models import User
from tests.access.conftest import world, worlds  # noqa: F401
from tests.access.rules import CONTRACTOR, OWNER, RULES

FORMULA = "=HYPERLINK(1)"
NUMBER = re.compile(r"[+-]?\d+(\.\d+)?")
# Pages whose CSV holds more than their table.
OWN_CSV = {"CheckTable": "alignment:series_csv"}
OURS = {"shop", "machines", "alignment"}


def tables_of_the_site():
    """The names of all tables that the three apps define."""
    found, waiting = set(), [django_tables2.Table]
    while waiting:
        for table in waiting.pop().__subclasses__():
            waiting.append(table)
            if table.__module__.split(".")[0] in OURS:
                found.add(table.__name__)
    return found


@pytest.fixture
def poisoned(world):  # noqa: F811
    """The shop with formulas wherever somebody may type and nothing is signed."""
    User.objects.update(first_name=FORMULA, last_name="@SUM(1)")
    Machine.objects.update(name=FORMULA, model_name="+1+1", serial="-1-1")
    Plan.objects.update(what=FORMULA)
    Part.objects.update(description="\tformula", maker=FORMULA)
    Indicator.objects.update(name=FORMULA)
    world.machine.sheets.update(name=FORMULA)
    return world


def rows_of(answer):
    assert answer["Content-Disposition"].startswith("attachment")
    return list(csv.reader(io.StringIO(answer.content.decode())))


def lists_of(client, shop):
    """(name of the address, its rows) of whatever goes out as CSV."""
    for role in (OWNER, CONTRACTOR):
        client.force_login(shop.people[role])
        for name, rule in RULES.items():
            if rule.status("get", role) == "in" and not rule.public:
                address = reverse(name, args=shop.args(rule.records))
                answer = client.get(address, {"_export": "csv"} | rule.data)
                if answer.get("Content-Type", "").startswith("text/csv"):
                    yield name, rows_of(answer)


@pytest.fixture
def went_out(monkeypatch):
    """The names of the tables that were written as CSV."""
    names = set()
    as_values = django_tables2.Table.as_values

    def noted(table, *args, **kwargs):
        names.add(type(table).__name__)
        return as_values(table, *args, **kwargs)

    monkeypatch.setattr(django_tables2.Table, "as_values", noted)
    return names


def test_every_list_goes_out_and_without_a_formula(client, poisoned, went_out):
    found = list(lists_of(client, poisoned))
    bad = [
        (name, cell)
        for name, rows in found
        for row in rows
        for cell in row
        if cell.startswith(("=", "+", "-", "@", "\t", "\r")) and not NUMBER.fullmatch(cell)
    ]
    assert bad == []
    assert len(found) > 30
    assert f"'{FORMULA}" in {cell for _, rows in found for row in rows for cell in row}
    assert set(OWN_CSV.values()) <= {name for name, _rows in found}
    missing = sorted(tables_of_the_site() - went_out - set(OWN_CSV))
    assert not missing, f"no address gives {missing} as CSV: use shop.web.listing in its view"
