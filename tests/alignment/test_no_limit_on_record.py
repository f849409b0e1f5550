"""A machine whose sheet is lost: swept for the record, and given a sheet of what was left."""

from decimal import Decimal

import pytest
from django.urls import reverse

from alignment.drift import drift_of
from alignment.drift.rules import station_that_keeps_drifting
from alignment.figures.series import SeriesFigure
from alignment.geometry.measure.verdict import Verdict, decide, probability_within
from alignment.sheets.models import AcceptanceItem, AcceptanceSheet
from alignment.sheets.services import line_without_limit
from shop.lengths import format_length
from tests import factories
from tests.factories import station_of
from tests.fuzz.pages import Page


@pytest.fixture
def lost(machine):
    """The machine without a sheet: its lines went with the paper."""
    AcceptanceItem.objects.filter(sheet__machine=machine).delete()
    AcceptanceSheet.objects.filter(machine=machine).delete()
    return machine


@pytest.fixture
def line(lost, contractor):
    return line_without_limit(station_of(lost, "guide bushing"), made_by=contractor)


def test_without_a_limit_there_is_nothing_to_decide_by():
    assert decide(5, 1, None) is Verdict.NO_LIMIT
    assert decide(5, None, None, None) is Verdict.NO_LIMIT
    assert probability_within(5, 1) is None


def test_a_station_is_swept_for_the_record_in_one_tap(at_work, taken_up, lost):
    station = station_of(lost, "guide bushing")
    page = at_work.get(taken_up.get_absolute_url()).text
    address = reverse("alignment:sweep_without_limit", args=[taken_up.pk, station.pk])
    assert address in page
    sweep = at_work.post(address).url
    line = station.items.get()
    assert sweep == reverse("alignment:sweep", args=[taken_up.pk, line.pk])
    assert "no limit" in at_work.get(sweep).text


def test_pressed_twice_it_is_one_line(lost, contractor):
    station = station_of(lost, "guide bushing")
    lines = {line_without_limit(station, made_by=contractor).pk for _ in range(2)}
    assert len(lines) == 1


def test_the_check_gives_figure_uncertainty_and_picture_and_says_no_limit(at_work, line, sweep_of):
    check = sweep_of(line, 12, 5)
    assert check.verdict == "no limit on record"
    assert check.value_um == pytest.approx(13)  # 5, 12, 13
    page = at_work.get(check.get_absolute_url()).text
    for words in (
        "no limit on record",
        "0.0130 mm",
        reverse("alignment:check_picture", args=[check.pk]),
    ):
        assert words in page
    assert at_work.get(reverse("alignment:check_picture", args=[check.pk])).status_code == 200


def test_every_page_and_paper_takes_a_check_without_limits(
    at_work, machine, line, sweep_of, taken_up, signed
):
    check = sweep_of(line, 12, 5)
    incident = factories.IncidentFactory(machine=machine)
    for address in (
        machine.get_absolute_url(),
        taken_up.get_absolute_url(),
        line.get_absolute_url(),
        check.get_absolute_url(),
        incident.get_absolute_url(),
        reverse("alignment:series_picture", args=[line.pk]),
        reverse("alignment:sheet", args=[machine.pk]),
        reverse("alignment:placed", args=[machine.pk]),
        reverse("alignment:risk"),
        reverse("machines:due"),
        reverse("machines:history", args=[machine.pk]),
        reverse("shop:report", args=[taken_up.pk]),
    ):
        assert at_work.get(address).status_code == 200, address
    assert at_work.post(reverse("alignment:check_sheet", args=[machine.pk])).status_code == 302


def test_nothing_without_a_limit_drifts_out_or_is_said_to(machine, line, sweep_of):
    sweep_of(line, 12, 5)
    assert drift_of(machine) == []
    assert list(station_that_keeps_drifting(machine, None)) == []


# ---------- a sheet of what was left


def test_a_sheet_is_made_of_what_a_visit_left_with_limits_to_type(
    at_work, line, sweep_of, taken_up, machine
):
    sweep_of(line, 12, 5)
    left = sweep_of(line, 3, 4, phase="as left")
    address = f"{reverse('alignment:new_sheet', args=[machine.pk])}?left={taken_up.pk}"
    assert address in at_work.get(taken_up.get_absolute_url()).text
    page = Page(address, at_work.get(address).text)
    form = next(one for one in page.forms if "lines-0-upper" in one.names)
    stands = {one.name: one.value for one in form.fields}
    assert stands["lines-0-factory"] == format_length(left.value_um, "mm") == "0.0050"
    assert stands["name"] == f"As left at visit {taken_up.number}"
    taken_up.refresh_from_db()
    day = taken_up.arrived_at.astimezone(machine.shop.zone).date()
    assert stands["dated"] == f"{day}"
    at_work.post(form.action, form.filled_in() | {"in_force": "on", "lines-0-upper": "0.010"})
    item = AcceptanceItem.objects.in_force().get(station=line.station)
    assert (item.upper_um, item.factory_um) == (Decimal("10"), Decimal("5"))


def test_once_limits_are_typed_the_figures_before_count_on(machine, line, sweep_of, contractor):
    sweep_of(line, 12, 5)
    sheet = factories.AcceptanceSheetFactory.build(machine=machine, name="own sheet")
    line.sheet.is_current = False
    line.sheet.save()
    sheet.save()
    factories.AcceptanceItemFactory(
        sheet=sheet, station=line.station, name=line.name, upper_um=Decimal(20)
    )
    (drift,) = drift_of(machine)
    assert [visit.found.value_um for visit in drift.series.visits] == [pytest.approx(13)]


def test_a_line_typed_without_a_limit_is_taken_and_said_to_be(client, owner, machine):
    client.force_login(owner)
    text = "station,what is measured,upper limit\nsub-spindle,bore,\n"
    said = {"name": "second", "unit": "mm", "text": text}
    address = reverse("alignment:import_sheet", args=[machine.pk])
    assert "without a limit" in client.post(address, said).text
    client.post(address, said | {"bring_in": "yes"})
    assert not AcceptanceItem.objects.get(sheet__name="second").has_limit


@pytest.mark.parametrize(("typed", "lower", "upper"), [("±0.02", -20, 20), ("+/- 20 µm", -20, 20)])
def test_a_limit_behind_a_plus_and_minus_is_both(client, owner, machine, typed, lower, upper):
    client.force_login(owner)
    head = "station,what is measured,figure,swept,upper limit\n"
    text = f"{head}gang tool slide,height,up,boss,{typed}\n"
    said = {"name": "second", "unit": "mm", "text": text, "bring_in": "yes"}
    client.post(reverse("alignment:import_sheet", args=[machine.pk]), said)
    item = AcceptanceItem.objects.get(sheet__name="second")
    assert (item.lower_um, item.upper_um) == (lower, upper)


def test_a_plus_and_minus_beside_a_lower_limit_is_refused(client, owner, machine):
    client.force_login(owner)
    text = (
        "station,what is measured,figure,swept,lower limit,upper limit\n"
        "gang tool slide,height,up,boss,-0.01,±0.02\n"
    )
    said = {"name": "second", "unit": "mm", "text": text}
    page = client.post(reverse("alignment:import_sheet", args=[machine.pk]), said).text
    assert "A ± limit is the lower one too" in page


def test_a_series_without_limits_is_drawn_and_told(line, sweep_of, machine):
    from alignment.sweeps.pictures import series_figure

    figure = series_figure(line, [], [], "mm", machine.shop.zone)
    assert isinstance(figure, SeriesFigure)
    assert figure.tolerances == ()
    assert figure.describe()
