"""Bringing in an acceptance sheet as CSV: each line's fate is shown first, then all or none."""

from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from alignment.sheets.models import AcceptanceItem, AcceptanceSheet
from alignment.sheets.sheetlist import MOST_LINES, read_sheet
from tests.pages import tight

HEAD = "station,what is measured,figure,swept,lower limit,upper limit,factory's own figure\n"
LIST = (
    HEAD
    + "guide bushing housing,bore to the headstock,offset,bore,,0.010,0.003\n"
    + "gang tool slide,tool height,up,boss,-0.015,0.0006 in,-4 µm\n"
)


@pytest.fixture
def desk(client, owner):
    client.force_login(owner)
    return client


@pytest.fixture
def send(desk, machine):
    """Sends a list for the machine."""

    def post(text, **more):
        data = {"name": "after rebuild", "unit": "mm", "in_force": "on", "text": text, **more}
        return desk.post(reverse("alignment:import_sheet", args=[machine.pk]), data)

    return post


@pytest.fixture
def row(machine):
    """Reads one line and gives its `Row`."""
    return lambda line: read_sheet(HEAD + line, machine.stations.all(), "mm")[0]


def test_a_list_is_shown_before_anything_is_saved(send):
    page = send(LIST).text
    assert "Nothing is saved yet" in page
    assert "offset of the axis, in a bore" in page
    assert AcceptanceSheet.objects.count() == 1


def test_what_was_shown_is_saved_exactly(send, machine):
    send(LIST, bring_in="yes")
    saved = AcceptanceItem.objects.filter(sheet__name="after rebuild").order_by("position")
    assert [(item.lower_um, item.upper_um, item.factory_um) for item in saved] == [
        (None, Decimal("10"), Decimal("3")),
        (Decimal("-15"), Decimal("15.24"), Decimal("-4")),
    ]


def test_a_file_is_read_like_typed_lines(send):
    file = SimpleUploadedFile("sheet.csv", b"\xef\xbb\xbf" + LIST.replace(",", ";").encode())
    assert "2 lines for machine" in send("", file=file).text


def test_one_wrong_line_brings_in_none_and_tells_each_fate(send):
    page = send(LIST + "tailstock,bore,,,,0.01,\n", bring_in="yes").text
    assert "1 of 3 lines cannot be taken" in page
    assert tight(page).count(">taken</td>") == 2
    assert AcceptanceSheet.objects.count() == 1


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("tailstock,bore,,,,0.01,", "There is no station 'tailstock' on this machine"),
        ("sub-spindle,bore,offset,bore,,0,", "The tolerance is 0 µm; expected a length above"),
        ("sub-spindle,bore,offset,bore,,-0.01,", "The tolerance is -10 µm; expected"),
        ("sub-spindle,bore,offset,bore,-0.01,0.01,", "has no lower limit"),
        ("sub-spindle,bore,up,boss,0.01,0.01,", "upper limit must be above the lower"),
        ("sub-spindle,bore,,,,=0.01*2,", "'=0.01*2' is a formula"),
        ("sub-spindle,bore,,,,@SUM(A1),", "is a formula"),
        ("sub-spindle,bore,,,,+SUM(A1),", "is a formula"),
        ("sub-spindle,=HYPERLINK(1),,,,0.01,", "begins like a formula"),
        ('sub-spindle,bore,,,,"1,234",', "two ways"),
        ("sub-spindle,bore,,,,five tenths,", "does not start with a number"),
        ("sub-spindle,bore,roundness,,,0.01,", "'roundness' is no figure"),
        ("sub-spindle,bore,,thread,,0.01,", "'thread' is no swept surface"),
        ("sub-spindle,,,,,0.01,", "does not say what is measured"),
        (f"sub-spindle,{'x' * 121},,,,0.01,", "at most 120"),
    ],
)
def test_a_wrong_line_is_refused_with_what_was_expected(row, line, said):
    read = row(line)
    assert read.line is None
    assert said in " ".join(read.wrong)


def test_a_plus_or_minus_before_a_number_is_no_formula(row):
    assert row("gang tool slide,height,up,boss,-0.01,+0.02,").line.upper_um == Decimal("20")


def test_the_same_line_twice_is_refused_the_second_time(machine):
    line = "sub-spindle,bore,,,,0.01,\n"
    first, second = read_sheet(HEAD + line * 2, machine.stations.all(), "mm")
    assert (first.wrong, second.wrong) == ([], ["Line 2 says the same already."])


def test_one_line_more_than_a_sheet_may_have_is_refused(send):
    lines = "".join(f"sub-spindle,bore {n},,,,0.01,\n" for n in range(MOST_LINES + 1))
    assert f"at most {MOST_LINES} is taken" in send(HEAD + lines).text


def test_a_sheet_of_the_most_lines_is_taken(machine):
    lines = "".join(f"sub-spindle,bore {n},,,,0.01,\n" for n in range(MOST_LINES))
    rows = read_sheet(HEAD + lines, machine.stations.all(), "mm")
    assert len([row for row in rows if row.line]) == MOST_LINES


def test_thousands_of_lines_are_refused_without_reading_them(send):
    assert "The list has 5,000 lines" in send(HEAD + "a,b,,,,c,\n" * 5000).text


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (HEAD.encode() + "sub-spindle,Bohrung für Zange,,,,0.01,".encode("latin-1"), "in UTF-8"),
        (LIST.encode("utf-16"), "in UTF-8"),
        (b"\x00" * 40, "no text"),
        (b"", "empty"),
    ],
)
def test_a_file_in_another_encoding_is_refused(send, content, said):
    assert said in send("", file=SimpleUploadedFile("sheet.csv", content)).text


@pytest.mark.parametrize(
    ("head", "said"),
    [
        ("station,upper limit\nx,1", "lacks the column what is measured"),
        ("station,name\nx,1", "lacks the column upper limit"),
        ("station,name,name,upper\nx,1,2,3", "given twice"),
        (HEAD, "The list is empty"),
    ],
)
def test_columns_that_are_missing_or_doubled_are_named(send, head, said):
    assert said in send(head).text


def test_a_sheet_taken_out_comes_back_the_same(client, send, machine):
    old = machine.sheets.get()
    bore, height = old.items.get(station__kind="sub-spindle"), old.items.last()
    old.items.filter(pk=bore.pk).update(at_mm=Decimal("120.5"))
    old.items.filter(pk=height.pk).update(surface="flat", nominal_um=Decimal("5000"))
    text = client.get(reverse("alignment:one_sheet", args=[old.pk]), {"_export": "csv"}).text
    send(text, unit="um", bring_in="yes")
    fields = ("station", "name", "quantity", "surface", "lower_um", "upper_um", "factory_um")
    fields += ("per_mm", "at_mm", "nominal_um")
    before, after = (
        list(sheet.items.values_list(*fields)) for sheet in machine.sheets.order_by("pk")
    )
    assert after == before


def test_a_list_sent_twice_makes_one_sheet(send):
    given = {"bring_in": "yes", "entry_id": "0b2ffb3e-6a4e-4f0c-9df0-6a7d7e7f0a11"}
    send(LIST, **given)
    send(LIST, **given)
    assert AcceptanceSheet.objects.count() == 2


def test_a_name_that_is_taken_is_refused_and_the_list_stays(send):
    page = send(LIST, name="Factory sheet", bring_in="yes").text
    assert "has a sheet called Factory sheet already" in page
    assert "tool height" in page


@pytest.mark.parametrize(("role", "status"), [("operator", 403), ("stranger", 404)])
def test_only_owner_and_contractor_bring_in(client, request, machine, role, status):
    client.force_login(request.getfixturevalue(role))
    response = client.post(reverse("alignment:import_sheet", args=[machine.pk]), {"text": LIST})
    assert response.status_code == status


PER = HEAD.strip() + ",per length\n"


def test_a_tilt_is_taken_with_the_length_it_is_stated_for(machine):
    line = "sub-spindle,bore,tilt,bore,,0.01,,300"
    (read,) = read_sheet(PER + line, machine.stations.all(), "mm")
    assert read.line.item().per_mm == Decimal(300)


@pytest.mark.parametrize("line", ["sub-spindle,b,tilt,bore,,0.01,,", "sub-spindle,b,,,,0.01,,300"])
def test_a_length_is_stated_for_a_tilt_and_for_nothing_else(machine, line):
    (read,) = read_sheet(PER + line, machine.stations.all(), "mm")
    assert "A tilt, and nothing else" in read.wrong[0]


AT = HEAD.strip() + ",asked for at,flat stands from the axis by\n"


def test_an_offset_is_asked_for_at_a_place_along_the_axis(machine, send):
    line = "sub-spindle,bore,offset,bore,,0.01,,4.5 in,"
    (read,) = read_sheet(AT + line, machine.stations.all(), "um")
    assert read.line.item().at_mm == Decimal("114.3")
    assert tight("at 114.3 mm") in tight(send(AT + line).text)


def test_a_bare_place_is_in_millimetres_whatever_the_limits_are_in(machine):
    line = "sub-spindle,bore,offset,bore,,10,,120,"
    (read,) = read_sheet(AT + line, machine.stations.all(), "um")
    assert (read.line.upper_um, read.line.at_mm) == (Decimal(10), Decimal(120))


def test_a_flat_stands_off_the_axis_by_its_nominal(machine, send):
    line = "gang tool slide,tool height,up,flat,-0.01,0.01,,,5"
    (read,) = read_sheet(AT + line, machine.stations.all(), "mm")
    assert read.line.item().nominal_um == Decimal(5000)
    assert "5 mm up from the axis" in " ".join(send(AT + line).text.split())


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("sub-spindle,b,tir,bore,,0.01,,120,", "Only an offset in a bore or on a boss"),
        ("gang tool slide,b,up,flat,,0.01,,120,", "Only an offset in a bore or on a boss"),
        ("sub-spindle,b,offset,bore,,0.01,,,5", "Only a flat stands off the axis"),
        ("sub-spindle,b,offset,bore,,0.01,,far,", "Asked for at: "),
        ("sub-spindle,b,offset,bore,,0.01,,=1+1,", "is a formula"),
    ],
)
def test_a_place_or_a_nominal_that_means_nothing_is_refused(machine, line, said):
    (read,) = read_sheet(AT + line, machine.stations.all(), "mm")
    assert said in read.wrong[0]


class TestAListOfFormerFigures:
    """Right and up of an indicator's view are turned into front and up of the station."""

    SUB, GUIDE = "sub-spindle,along,{},bore,-5,20,3", "guide bushing housing,along,{},bore,-5,20,3"

    def read(self, machine, *lines):
        return read_sheet(HEAD + "\n".join(lines), machine.stations.all(), "um")

    def test_what_is_looked_at_from_the_headstock_keeps_its_signs(self, machine):
        (row,) = self.read(machine, self.GUIDE.format("right"))
        assert (row.line.quantity, row.turned) == ("front", True)
        assert (row.line.lower_um, row.line.upper_um, row.line.factory_um) == (-5, 20, 3)

    @pytest.mark.parametrize(
        ("holder", "look", "turns"),
        [
            ("datum", "to the headstock", {"right"}),
            ("station", "from the headstock", {"right", "up"}),
            ("station", "to the headstock", {"up"}),
        ],
    )
    def test_limits_and_figure_turn_as_the_view_says(self, machine, holder, look, turns):
        machine.stations.filter(kind="sub-spindle").update(indicator_in=holder, look=look)
        rows = self.read(machine, self.SUB.format("offset to the right"), self.SUB.format("up"))
        for row, former in zip(rows, ("right", "up"), strict=True):
            kept = (row.line.lower_um, row.line.upper_um, row.line.factory_um)
            assert kept == ((-20, 5, -3) if former in turns else (-5, 20, 3))

    def test_a_list_of_today_is_taken_as_it_is(self, machine):
        machine.stations.update(indicator_in="station")
        rows = self.read(machine, self.SUB.format("front"), self.SUB.format("up"))
        assert [(row.line.lower_um, row.turned) for row in rows] == [(-5, False)] * 2

    def test_the_preview_says_so(self, send):
        page = send(HEAD + self.GUIDE.format("right"), unit="um").text
        assert tight("taken, told of the station: right in the indicator’s view") in tight(page)

    def test_at_a_station_that_is_not_on_record_it_is_refused(self, machine):
        (row,) = read_sheet(
            HEAD + "turret,along,right,bore,-5,20,3", machine.stations.all(), "um",
            make_stations=True,
        )  # fmt: skip
        assert row.line is None
        assert "nobody knows how it was looked at" in row.wrong[0]


def test_an_offset_to_the_front_may_be_asked_for_at_a_place_along_the_axis(machine):
    text = HEAD.strip() + ",at\nguide bushing housing,along,front,bore,-5,20,3,40\n"
    (row,) = read_sheet(text, machine.stations.all(), "um")
    assert row.wrong == []
    assert row.line.at_mm == 40
