"""Meter readings read from a list, line by line."""

from datetime import UTC, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from machines.register.readings_list import read_list

ZONE = ZoneInfo("Europe/Zurich")
NOW = datetime(2026, 3, 10, 12, tzinfo=UTC)
MACHINES = {"M1": "the first", "M2": "the second"}
HEAD = "machine,when,meter,reading,new meter\n"


def read(*lines, head=HEAD):
    return read_list(head + "\n".join(lines), MACHINES, ZONE, NOW)


def wrong(line):
    return " ".join(read(line)[0].wrong)


def test_a_line_says_what_a_meter_showed():
    (row,) = read("M1,2026-03-05 14:30,hours,12340.5,")
    assert (row.machine, row.kind, row.value) == ("the first", "spindle hours", Decimal("12340.5"))
    assert row.read_at == datetime(2026, 3, 5, 13, 30, tzinfo=UTC)
    assert not row.new_meter
    assert row.wrong == []


def test_semicolons_and_a_decimal_comma_come_from_spreadsheets_abroad():
    (row,) = read("M2;2026-03-05;parts;12,5;yes", head="machine;when;meter;reading;new meter\n")
    assert (row.value, row.new_meter) == (Decimal("12.5"), True)


def test_columns_come_in_any_order():
    (row,) = read("5,M1,2026-03-05,h", head="Reading,Machine,When,Meter\n")
    assert row.value == 5


def test_a_mark_at_the_start_of_the_file_is_no_part_of_the_name():
    (row,) = read("M1,2026-03-05,hours,5,", head="\ufeff" + HEAD)
    assert row.wrong == []


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ("M9,2026-03-05,hours,5,", "no machine 'M9'"),
        ("M1,05/03/2026,hours,5,", "no date"),
        ("M1,2026-02-30,hours,5,", "not on the calendar"),
        ("M1,0001-01-01,hours,5,", "not on the calendar"),
        ("M1,2026-03-11,hours,5,", "in the future"),
        ("M1,2025-03-30 02:30,hours,5,", "the clocks were put forward"),
        ("M1,2026-03-05,litres,5,", "no meter"),
        ("M1,2026-03-05,hours,many,", "no number"),
        ("M1,2026-03-05,hours,-5,", "not what a meter shows"),
        ("M1,2026-03-05,hours,NaN,", "not what a meter shows"),
        ('M1,2026-03-05,hours,"1,234",', "two ways"),
        ("M1,2026-03-05,hours,1.234,", "more than one place"),
        ("M1,2026-03-05,hours,5,perhaps", "expected yes or nothing"),
        ("M1", "no date"),
    ],
)
def test_what_is_wrong_with_a_line_stands_in_it(line, reason):
    assert reason in wrong(line)


@pytest.mark.parametrize("text", ["", "\n\n", HEAD])
def test_an_empty_list_is_refused(text):
    with pytest.raises(ValueError, match="empty"):
        read_list(text, MACHINES, ZONE, NOW)


def test_missing_columns_are_named():
    with pytest.raises(ValueError, match="lacks the column when, meter"):
        read("M1,5", head="machine,reading\n")
