"""Bringing in a list of meter readings, all or none."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from machines.register.models import MeterReading

URL = "machines:import_readings"
LIST = """machine,when,meter,reading
M1,2025-03-05,hours,100
M1,2025-03-12,hours,140
M1,2025-03-12,parts,9000
"""


@pytest.fixture
def desk(client, owner, machine):
    client.force_login(owner)
    return client


def send(client, machine, text, **more):
    return client.post(reverse(URL), {"shop": machine.shop.pk, "text": text, **more})


def test_a_list_is_shown_before_anything_is_saved(desk, machine):
    page = send(desk, machine, LIST).content.decode()
    assert "Nothing is saved yet" in page
    assert not MeterReading.objects.exists()


def test_what_was_shown_is_brought_in(desk, machine, owner):
    send(desk, machine, LIST, bring_in="yes")
    assert MeterReading.objects.filter(machine=machine, made_by=owner).count() == 3


def test_a_file_is_read_like_typed_lines(desk, machine):
    file = SimpleUploadedFile("readings.csv", LIST.encode())
    response = desk.post(reverse(URL), {"shop": machine.shop.pk, "file": file})
    assert "3 readings for" in response.content.decode()


def test_a_list_brought_in_twice_changes_nothing(desk, machine):
    send(desk, machine, LIST, bring_in="yes")
    send(desk, machine, LIST, bring_in="yes")
    assert MeterReading.objects.count() == 3


def test_a_line_that_differs_from_what_is_on_record_brings_in_none(desk, machine):
    send(desk, machine, LIST, bring_in="yes")
    changed = LIST.replace("140", "141") + "M1,2025-04-01,hours,300\n"
    page = send(desk, machine, changed, bring_in="yes").content.decode()
    assert "140.0 on record, not 141.0" in page
    assert MeterReading.objects.count() == 3


def test_a_meter_that_goes_down_brings_in_none(desk, machine):
    page = send(desk, machine, LIST.replace("140", "90"), bring_in="yes").content.decode()
    assert "The meter goes down" in page
    assert not MeterReading.objects.exists()


def test_one_wrong_line_brings_in_none(desk, machine):
    page = send(desk, machine, LIST + "M7,2025-03-12,hours,1\n", bring_in="yes").content.decode()
    assert "1 of 4 lines" in page
    assert not MeterReading.objects.exists()


def test_a_picture_is_no_list(desk, machine):
    file = SimpleUploadedFile("readings.csv", b"\x89PNG\xff\xfe")
    response = desk.post(reverse(URL), {"shop": machine.shop.pk, "file": file})
    assert "no text file" in response.content.decode()


def test_nothing_is_brought_into_another_shop(client, stranger, machine):
    client.force_login(stranger)
    send(client, machine, LIST, bring_in="yes")
    assert not MeterReading.objects.exists()
