"""The whole way, walked in a real Chromium at a phone and at a desk: from a crash to the report
that both sign, and what the record shows afterwards."""

import io
import re

import pytest
from PIL import Image
from playwright.sync_api import expect
from pypdf import PdfReader

from alignment.sheets.models import AcceptanceItem
from alignment.sweeps.models import Reading
from machines.incidents.models import Incident
from shop.paper.models import Document
from shop.visits.models import Visit
from tests.browser.walker import Walker

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

STATIONS = [
    "Headstock spindle",
    "Guide bushing housing",
    "Sub-spindle",
    "Back tool station",
    "Gang tool slide",
]
# A bore whose centre lies 19 µm right and 12 µm low, as people type it: r = −e·u(θ), so
# 0°: +12, 90°: −19, 180°: −12, 270°: +19 µm. By hand: √(19² + 12²) = 22.47 µm; 90° +
# atan(12/19) = 122.3° clockwise from the top, which the hour hand passes at 4:05,
# said to ten minutes: 4:00; TIR 38 µm; closure 0.
FOUND = {0: "12 µm", 90: "-.019", 180: "-0.012 mm", 270: "+0,019"}
LEFT = {0: "0", 90: ".001", 180: ".001", 270: "0"}
TRUE = {0: "0", 90: "0", 180: "0", 270: "0"}


@pytest.fixture
def walk(window, live_server):
    """A person at a new screen, signed in."""
    return lambda user: Walker(window(), user).sign_in()


def photo():
    picture = io.BytesIO()
    Image.new("RGB", (640, 480), "#7a6a55").save(picture, "JPEG")
    return {"name": "crash.jpg", "mimeType": "image/jpeg", "buffer": picture.getvalue()}


def test_from_a_crash_to_a_signed_report(walk, machine, operator, contractor, owner):
    log_the_crash(walk(operator), machine)
    at_work = walk(contractor)
    open_the_visit(at_work, machine)
    sweep_as_found(at_work)
    sweep_the_others_as_found(at_work)
    adjust_the_housing(at_work)
    measure_what_is_stale(at_work)
    find_two_marked_teeth(at_work)
    answer_as_the_owner(walk(owner))
    look_at_the_parts(at_work)
    let_it_run_again(at_work, machine)
    sign_the_visit(at_work)
    read_the_report(at_work)
    nothing_can_be_added(at_work)
    look_back_at_the_machine(at_work, machine)


def log_the_crash(operator, machine):
    """What hit what, where, how hard, what was seen, a photo; the machine stands."""
    operator.go(machine.get_absolute_url(), "Machine M1")
    operator.follow("Log what happened", "Log what happened")
    page = operator.page
    operator.tick("Crash")
    page.get_by_label(re.compile("^What hit")).fill("boring bar holder")
    page.get_by_label("What it hit").fill("guide bushing housing")
    operator.tick(re.compile(r"^\d guide bushing housing")).tick(re.compile("Hard: something"))
    operator.fill("Offset seen afterwards", "0.02 mm").fill("What was broken", "boring bar")
    operator.tick("Stopped until looked at").fill("Anything else", "Wrong sign in the offset.")
    page.get_by_label("Photos").set_input_files(photo())
    operator.press("Log it", "Boring bar holder hit guide bushing housing")
    operator.reads("hard: something bent", "0.02 mm", "boring bar", "stopped until looked at")
    expect(page.get_by_alt_text("Photo 1 of the incident")).to_be_visible()
    operator.go(machine.get_absolute_url(), "Machine M1")
    expect(page.get_by_text("Stopped until looked at").first).to_be_visible()


def open_the_visit(contractor, machine):
    """From the incident; the datum chain stands there in checking order."""
    contractor.go(machine.get_absolute_url(), "Machine M1")
    contractor.follow("Open a visit for it", "Open a visit to machine M1")
    assert contractor.page.get_by_label("Purpose").input_value()
    contractor.press("Open the visit", "Visit ")
    contractor.press("I have arrived", "Visit ").reads("on site")
    names = contractor.page.locator(".plan-station strong").all_inner_texts()
    assert names == [f"{number} {name}" for number, name in enumerate(STATIONS, start=1)]
    contractor.reads("up to 0.01 mm", "0.003 mm", within=station(contractor, 1))


def station(walker, place):
    """The part of the visit's page about the station at a place in checking order, from 0."""
    return walker.page.locator(".plan-lines > li.station").nth(place)


def type_sweep(walker, readings):
    for angle, text in readings.items():
        walker.page.get_by_label(re.compile(rf"Reading at {angle}°")).press_sequentially(text)


def sweep_as_found(contractor):
    """With the last reading the page says what it comes to, before anything is saved."""
    back = contractor.page.url
    contractor.follow("Sweep as found", "bore to the headstock axis", station(contractor, 1))
    contractor.understand()
    live = contractor.page.get_by_label("Result", exact=True)
    type_sweep(contractor, {angle: FOUND[angle] for angle in (0, 90, 180)})
    expect(live).to_contain_text("Still missing: 270°")
    type_sweep(contractor, {270: FOUND[270]})
    contractor.reads("outside", "0.022", "To the front", "0.038", "0.019", "0.012", within=live)
    everything = contractor.page.locator("label.show-all")
    if everything.is_visible():
        everything.click()
    picture = live.get_by_role("img").first
    expect(picture).to_be_visible()
    expect(picture).to_have_js_property("complete", True)
    assert picture.evaluate("image => image.naturalWidth") > 0
    if everything.is_visible():
        everything.click()
    contractor.press("Save this sweep", "as found").reads("outside", "-.019", "12 µm")
    contractor.page.goto(back)
    contractor.look("Visit ").reads("0.022 mm", "outside", within=station(contractor, 1))


def adjust_the_housing(contractor):
    """It and what is measured from it turn stale, and say since when; nothing further on does."""
    contractor.follow("Record an adjustment", "Record an adjustment", station(contractor, 1))
    contractor.reads("Guide bushing housing", "Sub-spindle", "Gang tool slide")
    contractor.fill("What was done", "eased, tapped over with a brass drift")
    contractor.fill("Moved to the front", "-0.019").fill("Moved up", "0.012")
    back = contractor.page.url.partition("stations/")[0]
    contractor.press("Record the adjustment", STATIONS[1])
    contractor.page.goto(back)
    contractor.look("Visit ")
    for place in (1, 2, 4):
        contractor.reads(
            "stale since the guide bushing housing was adjusted", within=station(contractor, place)
        )
    for place in (0, 3):
        expect(station(contractor, place)).not_to_contain_text("stale")


def sweep_the_others_as_found(contractor):
    """What lies on from the housing is swept before anything is moved."""
    back = contractor.page.url
    for place, line in [(2, 0), (3, 0), (4, 0), (4, 1)]:
        sweep_at(contractor, place, line, "Sweep as found", TRUE)
        contractor.page.goto(back)
        contractor.look("Visit ")


def measure_what_is_stale(contractor):
    """As left, down the chain; as found, as left, factory and tolerance stand side by side."""
    back = contractor.page.url
    for place, line in [(1, 0), (2, 0), (3, 0), (4, 0), (4, 1)]:
        sweep_at(contractor, place, line, "Sweep as left", LEFT if place == 1 else TRUE)
        contractor.page.goto(back)
        contractor.look("Visit ")
    contractor.reads(
        "0.01 mm", "0.003 mm", "0.022 mm", "outside", "0.001 mm", "within",
        within=station(contractor, 1),
    )  # fmt: skip
    expect(contractor.page.locator(".plan-lines")).not_to_contain_text("stale since")


def sweep_at(contractor, place, line, link, readings):
    """Sweep one line of a station and save it, once the page has worked it out."""
    station(contractor, place).get_by_role("link", name=link).nth(line).click()
    contractor.look(STATIONS[place]).understand()
    type_sweep(contractor, readings)
    expect(contractor.page.get_by_label("Result", exact=True)).to_contain_text("within")
    contractor.press("Save this sweep", link.removeprefix("Sweep "))


def find_two_marked_teeth(contractor):
    """The belt is off, so its teeth are looked at; two marks make a recommendation."""
    back = contractor.page.url
    contractor.follow(
        re.compile("Inspect it.*guide bushing belt"), "Inspect the guide bushing belt"
    )
    contractor.fill("Teeth that are not sound", "17-18 damaged")
    contractor.press("Save the inspection", "inspected").reads("17", "18", "damaged")
    contractor.page.goto(back)
    contractor.look("Visit ")
    contractor.reads(
        "Replace the guide bushing belt", "this visit", "2 of 60 teeth",
        within=contractor.part("To replace"),
    )  # fmt: skip
    contractor.reads("This visit still lacks", within=contractor.part("Before signing"))


def look_at_the_parts(contractor):
    """The parts the incident put on the check list, one by one, and what was found in words."""
    check_list = contractor.part("From the incident")
    contractor.reads("Guide bushing housing bolts", "a separate casting", within=check_list)
    left = check_list.get_by_role("button", name="Looked at", exact=True)
    while count := left.count():
        left.first.click()
        expect(left).to_have_count(count - 1)
    contractor.follow("Write down what was found", "Findings")
    contractor.page.get_by_label("What was found").fill("Housing over by 22 µm, bolts crept.")
    contractor.page.locator("main form button[type=submit]").click()
    contractor.look("Visit ")


def answer_as_the_owner(owner):
    """The owner follows the evidence and approves."""
    owner.follow("M1", "Machine M1")
    owner.follow("Replace the guide bushing belt", "Replace the guide bushing belt")
    owner.reads("tooth 17 damaged, tooth 18 damaged")
    owner.tick("approve it").press("Save the decision", "Replace the guide bushing belt")
    owner.reads("Approved")


def let_it_run_again(contractor, machine):
    back = contractor.page.url
    contractor.go(machine.get_absolute_url(), "Machine M1")
    contractor.follow("Let it run again", "Let machine M1")
    contractor.fill("Why it may run again", "realigned, measured within")
    contractor.press("Let it run again", "Machine M1")
    expect(contractor.page.get_by_text("Stopped until looked at")).to_have_count(0)
    contractor.page.goto(back)
    contractor.look("Visit ").reads("Nothing is missing")


def sign_the_visit(contractor):
    contractor.follow("Sign the visit", "Sign visit")
    page = contractor.page
    page.get_by_role("textbox", name="Name").nth(1).fill("Tom Quill")
    page.get_by_role("textbox", name="Role").nth(1).fill("owner")
    contractor.tick(re.compile("Both have read"))
    contractor.press("Sign and issue the report", "Visit ")
    contractor.reads("Tom Quill, owner", within=contractor.part("Signed"))


def read_the_report(contractor):
    """The page links to the stored document, whose text says all of it."""
    link = contractor.page.get_by_role("link", name="Service report (PDF)")
    answer = contractor.page.request.get(link.get_attribute("href"))
    assert answer.headers["content-type"] == "application/pdf"
    assert answer.body() == Document.objects.get().file.read()
    pages = PdfReader(io.BytesIO(answer.body())).pages
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    for said in [
        "Oldbridge Spindle Service",
        "Alder Screw Works",
        "boring bar holder",
        "0.022 mm",
        "-.019",
        "tapped over with a brass drift",
        "Replace the guide bushing belt",
        "Lock out and discharge",
        "Tom Quill",
        f"page 1 of {len(pages)}",
    ]:
        assert said in text, said
    assert "draft" not in text.casefold()


def nothing_can_be_added(contractor):
    """No more sweeps, and an old address of one leads back to the signed visit."""
    assert Visit.objects.get().is_signed
    expect(contractor.page.get_by_role("link", name="Sweep as left")).to_have_count(0)
    item = AcceptanceItem.objects.filter(station__name="sub-spindle").get()
    contractor.go(f"/visits/{Visit.objects.get().pk}/items/{item.pk}/sweep/", "Visit ")
    contractor.reads("Enter a correction")


def look_back_at_the_machine(contractor, machine):
    """One timeline of it all, and each item's values over the visits."""
    assert Incident.objects.get().state == Incident.State.CLOSED
    contractor.go(f"{machine.get_absolute_url()}history/", "History")
    for told in [
        "Boring bar holder hit guide bushing housing",
        "Stopped until looked at",
        "Visit ",
        "bore to the headstock axis",
        "Guide bushing belt",
        "Replace the guide bushing belt",
    ]:
        contractor.reads(told)
    contractor.go(machine.get_absolute_url(), "Machine M1")
    contractor.follow("Bore to the headstock axis", "bore to the headstock axis")
    series = contractor.page.get_by_role("img").first
    expect(series).to_be_visible()
    assert series.evaluate("image => image.naturalWidth") > 0
    contractor.reads("as found", "as left", "0.022", within=contractor.part("Every check"))
    assert Reading.objects.filter(typed="-.019").exists()
