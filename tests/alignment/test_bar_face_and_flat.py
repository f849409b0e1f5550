"""A travel along a test bar, a face and a flat: typed in rows, judged like any sweep."""

from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction

from alignment.sheets.formatting import quantity_words
from alignment.sheets.models import AcceptanceItem
from alignment.sweeps.models import Check
from tests.alignment.conftest import sweep_url, typed
from tests.factories import station_of


@pytest.fixture
def line_of(machine):
    """An acceptance item of the gang tool slide."""

    def make(**fields):
        return AcceptanceItem.objects.create(
            sheet=machine.sheets.get(is_current=True),
            station=station_of(machine, "gang tools"),
            position=60,
            name="as asked",
            **fields,
        )

    return make


@pytest.fixture
def parallel(line_of):
    """Parallelism in height: 0 to 10 µm per 100 mm, the only, per 100 mm, of its free end."""
    return line_of(quantity="tilt up", surface="bar", lower_um=Decimal(0), upper_um=Decimal(10))


@pytest.fixture
def square(line_of):
    return line_of(quantity="tilt", surface="face", upper_um=Decimal(20))


@pytest.fixture
def height(line_of):
    return line_of(quantity="up", surface="flat", lower_um=Decimal(-15), upper_um=Decimal(15))


SAID = {"phase": "as found", "unit": "mm", "reading_u": "0.0005", "note": "", "save": "check"}


def bar(*rows, **said):
    """Rows of (z, top, side, top turned, side turned)."""
    data = SAID | {"side": "front", "bar_error": "", "rows": len(rows)} | said
    for n, row in enumerate(rows):
        names = ("z", "top", "side", "top_turned", "side_turned")
        data |= {f"row{n}-{name}": text for name, text in zip(names, row, strict=False)}
    return data


# The machine rises 4 µm over 100 mm, the bar's own axis 3 µm: 7 one way round, 1 the other.
REVERSED = (("0", "0", "0", "0", "0"), ("100", "0.007", "0", "0.001", "0"))


def test_turning_the_bar_parts_its_error_from_the_machine_s(at_work, taken_up, parallel):
    """Half the sum is the machine: (7 + 1)/2 = 4 µm per 100 mm (reversal, ISO 230-1)."""
    at_work.post(sweep_url(taken_up, parallel), bar(*REVERSED))
    check = Check.objects.get()
    assert check.value_um == pytest.approx(4)
    assert check.verdict == "within"


def test_a_bar_that_was_not_turned_proves_nothing(at_work, taken_up, parallel):
    at_work.post(sweep_url(taken_up, parallel), bar(*(row[:3] for row in REVERSED)))
    check = Check.objects.get()
    assert (check.value_um, check.u_um) == (pytest.approx(7), None)
    assert check.verdict == "not proven"


def test_a_bar_that_was_not_turned_counts_with_its_own_error_stated(at_work, taken_up, parallel):
    rows = bar(*(row[:3] for row in REVERSED), bar_error="0.001")
    at_work.post(sweep_url(taken_up, parallel), rows)
    page = at_work.get(Check.objects.get().get_absolute_url())
    assert "the bar's own error" in [row.name for row in page.context["budget"]]
    assert Check.objects.get().verdict == "within"


def test_a_free_end_that_hangs_low_is_outside_where_it_may_only_be_high(
    at_work, taken_up, parallel
):
    low = (("0", "0", "0", "0", "0"), ("100", "-0.004", "0", "-0.004", "0"))
    at_work.post(sweep_url(taken_up, parallel), bar(*low))
    assert Check.objects.get().verdict == "outside"


def test_the_allowed_direction_stands_with_the_limits(at_work, taken_up, parallel):
    assert "only, per 100 mm, of its free end" in at_work.get(sweep_url(taken_up, parallel)).text


def test_a_reading_missing_of_the_turned_bar_is_asked_for(at_work, taken_up, parallel):
    rows = (REVERSED[0], ("100", "0.007", "0", "0.001", ""))
    response = at_work.post(sweep_url(taken_up, parallel), bar(*rows))
    assert not Check.objects.exists()
    assert "side, bar turned at position 2" in response.text
    assert 'value="0.007"' in response.text


def test_a_bar_read_at_one_position_is_refused(at_work, taken_up, parallel):
    response = at_work.post(sweep_url(taken_up, parallel), bar(REVERSED[0], ()))
    assert not Check.objects.exists()
    assert "two positions at least" in response.text


def test_a_position_given_twice_is_refused(at_work, taken_up, parallel):
    response = at_work.post(sweep_url(taken_up, parallel), bar(REVERSED[0], REVERSED[0]))
    assert not Check.objects.exists()
    assert "each standing once" in response.text


def test_the_check_of_a_bar_shows_lines_and_run_out(at_work, taken_up, parallel):
    at_work.post(sweep_url(taken_up, parallel), bar(*REVERSED))
    page = at_work.get(Check.objects.get().get_absolute_url())
    shown = {figure.label: figure.value for figure in page.context["figures"]}
    assert shown["Bar runs out, far"] == "0.006 mm"
    headings = [one["heading"] for one in page.context["sets"]]
    assert headings[0] == "Sweep 1, bar on top"
    assert headings[2] == "Sweep 3, bar on top, turned"


def test_a_face_nearer_on_the_right_leans_by_its_rise_over_the_radius(at_work, taken_up, square):
    """3 µm nearer at 3 o'clock on a radius of 30 mm: 10 µm per 100 mm."""
    data = typed(["0", "0.003", "0", "-0.003"], surface="face", sag_on="face", radius="30")
    at_work.post(sweep_url(taken_up, square), data | {"save": "check"})
    check = Check.objects.get()
    assert check.right_um == pytest.approx(10)
    assert check.verdict == "within"


def test_a_face_without_its_radius_is_asked_for_it(at_work, taken_up, square):
    data = typed(["0", "0.003", "0", "-0.003"], surface="face", sag_on="face", radius="")
    response = at_work.post(sweep_url(taken_up, square), data | {"save": "check"})
    assert not Check.objects.exists()
    assert "on which radius" in response.text


def flat(on_bar, on_flat, diameter="20", **said):
    data = SAID | {"diameter": diameter} | said
    data |= {f"bar-at{angle}": t for angle, t in zip((0, 90, 180, 270), on_bar, strict=False)}
    return data | {f"flat-at{place}": t for place, t in enumerate(on_flat, start=1)}


def test_centre_height_takes_the_bar_s_run_out_out(at_work, taken_up, height):
    """A bar of 20 mm that runs out reads 2 and 6 µm at opposite turns, 4 on average; the flat
    reads 10 mm lower than 11 µm above that: 10 mm + (−9.985 − 0.004) mm = 11 µm high."""
    at_work.post(
        sweep_url(taken_up, height), flat(["0.002", "", "0.006", ""], ["-9.985"], diameter="20")
    )
    assert Check.objects.get().value_um == pytest.approx(11)


def test_a_bar_read_once_is_refused(at_work, taken_up, height):
    response = at_work.post(sweep_url(taken_up, height), flat(["0.002"], ["-9.985"]))
    assert not Check.objects.exists()
    assert "opposite turns" in response.text


def test_a_flat_without_the_bar_s_diameter_is_asked_for_it(at_work, taken_up, height):
    data = flat(["0.002", "", "0.006", ""], ["-9.985"], diameter="")
    response = at_work.post(sweep_url(taken_up, height), data)
    assert not Check.objects.exists()
    assert "it is above zero" in response.text


@pytest.mark.parametrize("kind", ["parallel", "square", "height"])
def test_every_kind_of_entry_opens_and_is_tried_empty(at_work, taken_up, request, kind):
    item = request.getfixturevalue(kind)
    page = at_work.get(sweep_url(taken_up, item))
    assert "Still missing" in page.text
    live = at_work.post(sweep_url(taken_up, item, "try_sweep"), SAID)
    assert live.status_code == 200


def test_one_more_position_keeps_what_was_typed(at_work, taken_up, parallel):
    data = bar(*REVERSED) | {"show": "rows:"}
    data.pop("save")
    entry = at_work.post(sweep_url(taken_up, parallel), data).context["entry"]
    assert len(entry.boxes) == 3
    assert entry.boxes[1]["top"].value() == "0.007"


def test_the_positions_read_last_stand_there_again(at_work, taken_up, parallel):
    at_work.post(sweep_url(taken_up, parallel), bar(*REVERSED))
    entry = at_work.get(sweep_url(taken_up, parallel)).context["entry"]
    assert [row["z"].value() for row in entry.boxes] == ["0", "100"]


def test_a_stored_travel_is_typed_in_again_to_be_corrected(
    at_work, taken_up, parallel, signed, contractor, firm
):
    from shop.visits.services import correct_visit

    at_work.post(sweep_url(taken_up, parallel), bar(*REVERSED))
    taken_up.refresh_from_db()
    signed(taken_up)
    taken_up.refresh_from_db()
    later = correct_visit(taken_up, made_by=contractor, firm=firm, reason="a slip")
    address = sweep_url(later, parallel, corrects=Check.objects.get().pk)
    entry = at_work.get(address).context["entry"]
    assert entry.boxes[1]["top_turned"].value() == "0.001 mm"


# The bar's own axis is off by 3 µm to the right and 4 high at its far end; the travel bows by 6.
BENT = (
    ("0", "0", "0", "0", "0"),
    ("100", "0.008", "0.0015", "0.004", "-0.0015"),
    ("200", "0.004", "0.003", "-0.004", "-0.003"),
)


@pytest.mark.parametrize(
    ("quantity", "value", "verdict"),
    [("out far", 10, "outside"), ("out near", 0, "within"), ("bow up", 6, "within")],
)
def test_run_out_and_straightness_of_a_bar_are_judged(
    at_work, taken_up, line_of, quantity, value, verdict
):
    """2·√(3² + 4²) = 10 µm; (8 + 4)/2 = 6 µm in the middle, 0 at both ends (reversal)."""
    item = line_of(quantity=quantity, surface="bar", upper_um=Decimal(8))
    at_work.post(sweep_url(taken_up, item), bar(*BENT, form="0.001"))
    check = Check.objects.get()
    assert (check.value_um, check.verdict) == (pytest.approx(value, abs=1e-6), verdict)
    page = at_work.get(check.get_absolute_url()).text
    assert page.count(quantity_words(item)) == 1


def test_a_bar_whose_form_nobody_stated_is_not_proven_to_run_true(at_work, taken_up, line_of):
    """Opposite readings cancel an oval: what the bar's form adds is not seen."""
    item = line_of(quantity="out near", surface="bar", upper_um=Decimal(8))
    at_work.post(sweep_url(taken_up, item), bar(*BENT))
    check = Check.objects.get()
    assert check.verdict == "not proven"
    assert "out-of-round from its certificate" in at_work.get(check.get_absolute_url()).text


def test_a_run_out_of_a_bar_that_was_not_turned_says_what_is_missing(at_work, taken_up, line_of):
    item = line_of(quantity="out far", surface="bar", upper_um=Decimal(8))
    response = at_work.post(sweep_url(taken_up, item), bar(*(row[:3] for row in BENT)))
    assert "turned by half a turn" in response.text
    assert not Check.objects.exists()


@pytest.mark.parametrize("surface", ["bore", "boss", "face", "flat"])
def test_only_a_bar_has_a_run_out_of_its_own(line_of, surface):
    with pytest.raises(IntegrityError, match="each_surface"), transaction.atomic():
        line_of(quantity="out far", surface=surface, upper_um=Decimal(8))
