"""Logging a crash on a phone at the machine."""

import io
import uuid
from datetime import UTC, datetime, timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from machines.incidents.models import Incident
from tests.factories import five_station_machine, station_of


@pytest.fixture
def account(machine):
    """What an operator types."""
    return {
        "kind": "hit",
        "what_hit": "gang tool holder",
        "hit_what": "sub-spindle nose",
        "stations": [station_of(machine, "sub-spindle").pk],
        "severity": "knock",
        "offset_seen": "",
        "broken": "one insert",
        "happened_at": "2025-03-05T14:20",
        "may_run": "no",
        "note": "coolant was off",
    }


@pytest.fixture
def page(machine):
    return reverse("alignment:log_incident", args=[machine.pk])


@pytest.fixture
def log(client, operator, page, account):
    client.force_login(operator)
    return lambda follow=False, **said: client.post(page, account | said, follow=follow)


def photo(name="spindle.jpg", size=(40, 30), kind="JPEG"):
    file = io.BytesIO()
    Image.new("RGB", size, "grey").save(file, kind)
    return SimpleUploadedFile(name, file.getvalue(), content_type=f"image/{kind.lower()}")


def test_each_station_of_the_picture_ticks_its_box_in_the_list(client, operator, page, machine):
    client.force_login(operator)
    shown = client.get(page).text
    assert reverse("alignment:drawn_machine", args=[machine.pk]) in shown
    for box in client.get(page).context["form"]["stations"]:
        assert shown.count(f'data-tap="{box.id_for_label}"') == 2  # on a wide screen, on a narrow
        assert f'id="{box.id_for_label}"' in shown


def test_what_was_typed_becomes_the_incident(log, machine, operator):
    response = log()
    incident = Incident.objects.get()
    assert response.url == incident.get_absolute_url()
    assert (incident.machine, incident.made_by) == (machine, operator)
    assert (incident.what_hit, incident.broken, incident.note) == (
        "gang tool holder",
        "one insert",
        "coolant was off",
    )
    assert [hit.station.kind for hit in incident.stations_hit.all()] == ["sub-spindle"]


def test_a_stopped_machine_is_stopped_since_the_crash(log, machine):
    log(may_run="no")
    assert machine.standstills.get().began_at == datetime(2025, 3, 5, 13, 20, tzinfo=UTC)


def test_a_machine_that_may_run_is_not_stopped(log, machine):
    log(may_run="yes")
    assert not machine.standstills.exists()


def test_whether_it_may_run_must_be_said(log):
    assert "Say whether the machine may run" in log(may_run="").text
    assert not Incident.objects.exists()


def test_a_time_is_the_shop_s_own(log):
    """14:20 in Zurich in March is 13:20 UTC."""
    log()
    assert Incident.objects.get().happened_at == datetime(2025, 3, 5, 13, 20, tzinfo=UTC)


def test_the_page_begins_at_this_minute_in_the_shop(client, operator, page, shop):
    client.force_login(operator)
    now = timezone.now().astimezone(shop.zone)
    begins = [f"{now + timedelta(minutes=late):%Y-%m-%dT%H:%M}" for late in (0, 1)]
    assert any(f'value="{minute}"' in client.get(page).text for minute in begins)


def test_a_time_that_lies_ahead_is_refused(log, shop):
    ahead = (timezone.now() + timedelta(minutes=5)).astimezone(shop.zone)
    assert "lies in the future" in log(happened_at=f"{ahead:%Y-%m-%dT%H:%M}").text


def test_an_hour_ahead_in_utc_is_the_past_further_east(log, shop):
    """Half an hour ago in Auckland is hours ahead of the clock in London."""
    shop.time_zone = "Pacific/Auckland"
    shop.save()
    passed = timezone.now().astimezone(shop.zone) - timedelta(minutes=30)
    assert log(happened_at=f"{passed:%Y-%m-%dT%H:%M}").status_code == 302


def test_a_time_the_clocks_skipped_is_refused(log):
    """In Zurich clocks went from 02:00 to 03:00 on 30 March 2025."""
    assert "There was no 02:30 on that day" in log(happened_at="2025-03-30T02:30").text


def test_of_an_hour_that_came_twice_the_first_is_meant(log):
    """On 27 October 2024 it was 02:30 in Zurich at 00:30 UTC and again at 01:30 UTC."""
    log(happened_at="2024-10-27T02:30")
    assert Incident.objects.get().happened_at == datetime(2024, 10, 27, 0, 30, tzinfo=UTC)


@pytest.mark.parametrize("typed", ["", "yesterday", "2025-02-30T10:00", "05.03.2025"])
def test_what_is_no_time_is_refused(log, typed):
    response = log(happened_at=typed)
    assert response.context["form"].errors["happened_at"]


@pytest.mark.parametrize(
    ("typed", "unit", "kept", "micrometres"),
    [
        ("0.2", "mm", "0.2 mm", 200),
        (".005", "in", ".005 in", 127),
        ("5 tenths", "mm", "5 tenths", 12.7),
        ("-12 µm", "in", "-12 µm", -12),
    ],
)
def test_an_offset_is_kept_as_typed_with_its_unit(log, operator, typed, unit, kept, micrometres):
    operator.length_unit = unit
    operator.save()
    log(offset_seen=typed)
    incident = Incident.objects.get()
    assert (incident.offset_seen_typed, float(incident.offset_seen_um)) == (kept, micrometres)


def test_no_offset_is_no_offset(log):
    log()
    incident = Incident.objects.get()
    assert (incident.offset_seen_um, incident.offset_seen_typed) == (None, "")


def test_an_offset_of_a_kilometre_is_refused(log):
    assert "longest length taken here" in log(offset_seen="1000000").text


def test_several_photos_are_kept(log):
    log(photos=[photo(), photo("chuck.png", kind="PNG")])
    assert Incident.objects.get().photos.count() == 2


def test_a_photo_that_is_not_one_is_refused_and_nothing_typed_is_lost(log):
    response = log(photos=[photo(), SimpleUploadedFile("list.jpg", b"no picture")])
    assert "list.jpg is not a photo that can be read" in response.text
    assert 'value="gang tool holder"' in response.text
    assert "coolant was off" in response.text
    assert not Incident.objects.exists()


def test_more_photos_than_a_crash_needs_are_refused(log):
    assert "at most 8" in log(photos=[photo(f"{n}.jpg") for n in range(9)]).text


def test_an_empty_file_is_refused(log):
    assert "empty" in log(photos=[SimpleUploadedFile("a.jpg", b"")]).text


def test_a_station_of_another_machine_is_refused(log, shop):
    other = station_of(five_station_machine(shop, number="M2"), "sub-spindle")
    assert "stations" in log(stations=[other.pk]).context["form"].errors


def test_a_report_sent_twice_is_one_incident(log):
    entry_id = str(uuid.uuid4())
    assert log(entry_id=entry_id).url == log(entry_id=entry_id).url
    assert Incident.objects.count() == 1


def test_a_script_that_sent_it_is_told_where_to_go(client, operator, page, account):
    client.force_login(operator)
    response = client.post(page, account, headers={"HX-Request": "true"})
    assert response.headers["HX-Redirect"] == Incident.objects.get().get_absolute_url()


def test_stations_stand_in_the_order_they_are_checked(client, operator, page, machine):
    client.force_login(operator)
    text = client.get(page).text
    names = [station.name for station in machine.stations.all()]
    spans = [f"<span>{number} {name}</span>" for number, name in enumerate(names, start=1)]
    places = [text.index(span) for span in spans]
    assert places == sorted(places)


def test_the_way_to_lock_out_is_shown(client, operator, page):
    client.force_login(operator)
    assert "Lock out and discharge the machine" in client.get(page).text


@pytest.mark.parametrize("role", ["owner", "operator", "contractor"])
def test_everybody_of_the_shop_may_log(client, page, request, role):
    client.force_login(request.getfixturevalue(role))
    assert client.get(page).status_code == 200


def test_a_stranger_finds_no_such_machine(client, page, stranger, account):
    client.force_login(stranger)
    assert (client.get(page).status_code, client.post(page, account).status_code) == (404, 404)


def test_what_happened_must_be_tapped(log):
    assert "Tap what happened." in log(kind="").text


@pytest.mark.parametrize("kind", ["hit", "noise", "leak", "belt slipped", "drifting size", "other"])
def test_how_hard_it_was_may_be_left_out(log, kind):
    """The box says optional: whoever did not see it must still be able to stop the machine."""
    assert log(kind=kind, severity="").status_code == 302
    assert Incident.objects.get().severity == ""


def test_one_tap_says_the_axis_and_which_way(log):
    log(movement="X1:minus")
    incident = Incident.objects.get()
    assert (incident.axis, incident.direction, incident.movement) == ("X1", "minus", "X1 minus")


def test_an_axis_the_machine_does_not_have_is_refused(log):
    assert log(movement="Q9:plus").context["form"].errors["movement"]


def test_an_incident_without_words_is_named_by_what_and_where(log):
    log(kind="noise", what_hit="", hit_what="")
    assert str(Incident.objects.get()) == "a noise at the sub-spindle"


def test_six_taps_are_enough(client, operator, page, machine):
    """What, where, which way, how hard, may it run, and log it; the time is the page's own."""
    client.force_login(operator)
    begun = client.get(page).context["form"]
    tapped = {
        "kind": "hit",
        "stations": [station_of(machine, "sub-spindle").pk],
        "movement": "X2:plus",
        "severity": "hard",
        "may_run": "no",
    }
    kept = {"happened_at": f"{begun['happened_at'].value():%Y-%m-%dT%H:%M}"}
    assert client.post(page, tapped | kept).status_code == 302


def test_the_chain_is_drawn_from_the_machine_s_own_data(client, operator, page):
    client.force_login(operator)
    drawn = [
        (station.name, depth)
        for _box, station, depth in client.get(page).context["form"].schematic()
    ]
    assert drawn == [
        ("headstock spindle", 0),
        ("guide bushing housing", 1),
        ("sub-spindle", 2),
        ("back tool station", 3),
        ("gang tool slide", 2),
    ]


def test_the_place_of_last_time_is_offered(client, log, page, machine):
    assert "Same as last time" not in client.get(page).text
    log()
    station = station_of(machine, "sub-spindle")
    assert f'data-same="{station.pk}"' in client.get(page).text


def test_every_belt_has_its_short_path_into_the_tooth_map(client, operator, page, machine):
    client.force_login(operator)
    shown = client.get(page).text
    assert all(reverse("machines:inspect_belt", args=[b.pk]) in shown for b in machine.belts.all())


def test_a_moment_with_its_zone_is_taken_as_it_is(log):
    log(happened_at="2025-03-05T14:20:31.250Z")
    assert Incident.objects.get().happened_at == datetime(
        2025, 3, 5, 14, 20, 31, 250000, tzinfo=UTC
    )


def test_a_phone_s_clock_that_is_a_minute_fast_is_no_reason_to_refuse(log):
    ahead = timezone.now() + timedelta(minutes=1)
    assert log(happened_at=ahead.isoformat()).status_code == 302
    assert Incident.objects.get().happened_at <= timezone.now()
