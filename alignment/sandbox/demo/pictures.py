"""The pages of the demo that README shows."""

from collections.abc import Callable
from dataclasses import dataclass

from django.urls import reverse

from alignment.sheets.models import AcceptanceItem
from machines.drive.models import BeltInspection
from machines.register.models import Machine, Station
from shop.sandbox.demo import sign_ins
from shop.visits.models import Visit

MACHINE_WITH_A_STORY = "1"
STOPPED_MACHINE = "2"
# A sweep of the guide bushing housing, to be typed in inches at the contractor's next visit.
READINGS = {0: "0", 90: ".0002", 180: "5 tenths", 270: ".0003"}


@dataclass(frozen=True)
class Page:
    """A page to take, as whom, at which size; `prepare` fills in what the picture is to show."""

    name: str
    username: str
    path: str
    phone: bool = False
    whole: bool = False
    prepare: Callable | None = None

    @property
    def password(self):
        return next(known.password for known in sign_ins() if known.username == self.username)


def pages():
    """The pages, with their addresses in the demo's database."""
    machine = Machine.objects.get(number=MACHINE_WITH_A_STORY)
    stopped = Machine.objects.get(number=STOPPED_MACHINE)
    visit = Visit.objects.get(visited__incident__machine=machine)
    marked = BeltInspection.objects.filter(visit=visit, findings__isnull=False).first()
    return [
        Page(
            "log-a-crash",
            "operator",
            reverse("alignment:log_incident", args=[stopped.pk]),
            phone=True,
            prepare=_tell,
        ),
        Page("visit", "contractor", visit.get_absolute_url(), whole=True),
        Page("sweep", "contractor", _sweep_address(), whole=True, prepare=_type_readings),
        Page("belt", "contractor", marked.get_absolute_url(), whole=True),
        Page("machine", "owner", machine.get_absolute_url(), whole=True),
    ]


def _sweep_address():
    """The empty sweep of a guide bushing housing at the visit that is planned."""
    planned = Visit.objects.get(state=Visit.State.PLANNED)
    item = AcceptanceItem.objects.filter(
        station__machine__visited__visit=planned, station__kind=Station.Kind.GUIDE_BUSHING
    ).first()
    return reverse("alignment:sweep", args=[planned.pk, item.pk])


def _tell(page):
    page.get_by_text("Crash", exact=True).click()
    page.locator(".chain-pick label", has_text="sub-spindle").first.click()
    page.evaluate("scrollTo(0, 0)")


def _type_readings(page):
    page.locator("#unit-in").click()
    page.locator("#unit-in[aria-pressed=true]").wait_for()
    for angle, text in READINGS.items():
        page.locator(f"[data-angle='{angle}'] input").first.press_sequentially(text)
    page.wait_for_function("document.querySelector('#live img')?.naturalWidth > 0")
