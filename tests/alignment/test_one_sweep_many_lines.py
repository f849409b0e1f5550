"""One sweep answers every line of the sheet that it can."""

import pytest

from alignment.sheets.models import AcceptanceItem
from alignment.sweeps.chain_view import chain_at
from alignment.sweeps.models import Check
from alignment.sweeps.signing_blockers import stations_not_settled
from shop.visits.services import correct_visit
from tests.factories import AcceptanceItemFactory, item_of

from .conftest import sweep_url, typed

# The centre stands 3 µm to the right and 4 µm down on a boss: worked out by hand.
READINGS = ["-0.004", "0.003", "0.004", "-0.003"]


@pytest.fixture
def lines(machine):
    """Sideways, height and offset of the gang tools' first holder, alone on their station."""
    item = item_of(machine, "gang tools")
    item.sheet.items.filter(station=item.station).exclude(pk=item.pk).delete()
    item.quantity, item.upper_um, item.lower_um = "front", 10, -10
    item.save()
    more = {"sheet": item.sheet, "station": item.station, "surface": item.surface}
    height = AcceptanceItemFactory(
        **more, quantity="up", name="height", upper_um=10, lower_um=-10, position=90
    )
    offset = AcceptanceItemFactory(**more, quantity="offset", name="offset", position=91)
    return item, height, offset


@pytest.fixture
def send(at_work, taken_up, lines):
    def post(readings=READINGS, item=lines[0], visit=taken_up, query=None, **said):
        data = typed(readings, **{"save": "check", "surface": item.surface, **said})
        return at_work.post(sweep_url(visit, item, **(query or {})), data, follow=True)

    return post


def test_sideways_and_height_and_offset_come_of_one_sweep(send, lines):
    send()
    checks = {check.item: check for check in Check.objects.all()}
    sideways, height, offset = lines
    assert set(checks) == set(lines)
    assert abs(checks[sideways].value_um) == pytest.approx(3)
    assert abs(checks[height].value_um) == pytest.approx(4)
    assert checks[offset].value_um == pytest.approx(5)
    assert {check.typed_with for check in checks.values()} == {None, checks[sideways]}


def test_each_rests_on_the_readings_that_were_typed(send):
    send()
    texts = [
        [reading.typed for reading in check.sweeps.get().readings.all()]
        for check in Check.objects.all()
    ]
    assert texts == [READINGS] * 3


def test_the_page_says_which_lines_a_sweep_answers(at_work, taken_up, lines, send):
    live = at_work.post(sweep_url(taken_up, lines[0], "try_sweep"), typed(READINGS, surface="boss"))
    assert [line for line, _, _ in live.context["answers"]] == list(lines[1:])
    assert "Answers 3 lines" in live.text
    assert "The same readings answer height: within; offset: within." in send().text


def test_chain_and_before_signing_count_them(send, lines, taken_up, machine, crash):
    send()
    chain = chain_at(machine, taken_up)
    gang = next(state for state in chain if state.station == lines[0].station)
    assert gang.measured
    assert not [one for one in stations_not_settled(taken_up) if "holder" in one.words]


def test_one_line_alone_is_saved_where_that_was_asked_for(send):
    send(only="yes")
    assert Check.objects.count() == 1


def test_what_somebody_measured_by_itself_is_left_alone(send, lines):
    send(item=lines[1], only="yes")
    send()
    own = Check.objects.filter(item=lines[1])
    assert [check.typed_with for check in own] == [None]


def test_two_lines_of_one_quantity_are_not_answered_for_one_another(send, lines):
    """Near and far are both offsets: which of them was swept, only the person knows."""
    AcceptanceItemFactory(
        sheet=lines[0].sheet, station=lines[0].station, surface=lines[0].surface,
        quantity="offset", name="offset, far", position=92,
    )  # fmt: skip
    send()
    assert set(Check.objects.values_list("item__name", flat=True)) == {lines[0].name, "height"}


def test_a_form_sent_twice_answers_once(send):
    for _ in range(2):
        send(entry_id="6d3a4a06-4be4-4e2c-9c0b-0a0a0b0c0d0e")
    assert Check.objects.count() == 3


def test_a_near_plane_of_a_tilt_answers_the_offset(at_work, taken_up, machine):
    """The offset that a sheet asks for without a place along the axis is that of the near plane."""
    bore = item_of(machine, "guide bushing")
    bore.sheet.items.filter(station=bore.station).exclude(pk=bore.pk).delete()
    tilt = AcceptanceItemFactory(
        sheet=bore.sheet, station=bore.station, quantity="tilt", name="tilt", position=93
    )
    near, far = ["0", "-0.001", "0", "0.001"], ["0", "-0.005", "0", "0.005"]
    data = typed(near, save="check", sets="2") | {"readings-z": "0", "readings2-z": "80"}
    data |= {"readings2-TOTAL_FORMS": 4, "readings2-INITIAL_FORMS": 0}
    data |= {f"readings2-{index}-reading": text for index, text in enumerate(far)}
    at_work.post(sweep_url(taken_up, tilt), data)
    assert Check.objects.get(item=bore).value_um == pytest.approx(1)
    assert Check.objects.get(item=tilt).value_um == pytest.approx(4 * 100 / 80)


def test_a_correction_puts_all_of_them_right(send, lines, taken_up, signed, contractor, firm):
    send()
    old = Check.objects.get(item=lines[0])
    signed(taken_up)
    taken_up.refresh_from_db()
    correction = correct_visit(taken_up, made_by=contractor, firm=firm, reason="a slip")
    twice = [f"{2 * float(text):.3f}" for text in READINGS]
    send(twice, visit=correction, query={"corrects": old.pk})
    new = Check.objects.filter(visit=correction)
    assert {check.corrects.item: round(abs(check.value_um)) for check in new} == dict(
        zip(lines, (6, 8, 10), strict=True)
    )


def test_the_check_page_leads_to_what_else_it_answered(send, at_work, lines):
    send()
    page = at_work.get(Check.objects.get(item=lines[2]).get_absolute_url()).text
    for one in Check.objects.exclude(item=lines[2]):
        assert one.get_absolute_url() in page


def test_lines_of_another_station_are_not_answered(send):
    send()
    measured = AcceptanceItem.objects.filter(checks__isnull=False)
    assert len(set(measured.values_list("station", flat=True))) == 1
