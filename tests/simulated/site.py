"""A simulated lathe on the site's record, measured and moved by somebody who reads the pages.

Readings go in through the site's own forms; what to do comes off its pages as text, and is done
on the lathe by its words or by the axis they name.
"""

import html
import re
from decimal import Decimal

import numpy as np
from django.urls import reverse

from alignment.adjusting.models import AdjustingWay
from alignment.sheets.models import AcceptanceItem
from machines.register.models import Axis, StationMover
from tests import factories
from tests.simulated.lathe import FRONT, MM, UP, Indicator, Lathe, turn_screws

ANGLES = (0, 90, 180, 270)
# Where each station is swept, in mm from the headstock's nose.
PLANES = {
    "guide bushing": 120.0,
    "sub-spindle": 180.0,
    "back tools": 260.0,
    "gang tools": 140.0,
}
FAR_MM, SCREW_RADIUS, PITCH_MM = 60.0, 52.0, 1.0
WAY = r"([\d.]+) µm (to the front|to the rear|up|down)(?: \((\w+)([+−])\))?"
WORLD = {"to the front": FRONT, "to the rear": -FRONT, "up": UP, "down": -UP}


class Site:
    """One machine: its record, its truth, and a browser in which the contractor is signed in.

    views: kind of station to (holder, look). plus: kind to what the plus of its two axes does in
    truth, such as ("rear", "up"); bolted stations have none.
    """

    def __init__(self, client, visit, machine, headstock_side, views, plus, off, lean):
        self.client, self.visit, self.machine = client, visit, machine
        self.lathe, self.views = Lathe(headstock_side), views
        self.axes = {}
        type(machine).objects.filter(pk=machine.pk).update(headstock_side=headstock_side)
        machine.axes.all().delete()
        self.lathe.put("headstock", 0, 0)
        for kind, plane in PLANES.items():
            self._station(kind, plane, plus.get(kind))
            self.lathe.put(
                kind, *off[kind], *(lean if kind == "guide bushing" else ()), at_mm=plane
            )

    def _station(self, kind, plane_mm, plus):
        station = factories.station_of(self.machine, kind)
        station.indicator_in, station.look = self.views[kind]
        station.plane_mm = plane_mm
        station.save()
        for letter, way in zip("XY", plus or (), strict=False):
            name = f"{letter}{station.position}"
            axis = Axis.objects.create(machine=self.machine, name=name, plus=way)
            StationMover.objects.create(station=station, axis=axis)
            self.axes[name] = {"front": FRONT, "rear": -FRONT, "up": UP, "down": -UP}[way]
        AdjustingWay.objects.create(station=station, kind="shift")
        if kind == "guide bushing":
            self._screws(station)

    def _screws(self, station):
        AcceptanceItem.objects.create(
            sheet=self.machine.sheets.get(),
            station=station,
            position=50,
            name="bore, tilt",
            quantity="tilt",
            surface="bore",
            upper_um=Decimal(10),
        )
        settings = {"radius_mm": SCREW_RADIUS, "angles_deg": [60, 180, 300], "pitch_mm": PITCH_MM}
        AdjustingWay.objects.create(station=station, kind="screws", settings=settings)

    def station(self, kind):
        return factories.station_of(self.machine, kind)

    def datum_of(self, kind):
        return self.station(kind).datum.kind

    def truth(self, kind, datum=None):
        return self.lathe.truth(kind, datum or self.datum_of(kind), PLANES[kind])

    def shown(self, kind, reach_mm=0.0, surface="bore"):
        """What the dial shows of a station, ``reach_mm`` beyond its swept plane."""
        holder, look = self.views[kind]
        ends = (self.datum_of(kind), kind)
        carrier, swept = ends if holder == "datum" else reversed(ends)
        away = look == "from the headstock"
        at_mm = PLANES[kind] + (reach_mm if away else -reach_mm)
        return Indicator(away).sweep(self.lathe, carrier, swept, at_mm, ANGLES, surface=surface)

    def sweep(self, kind, phase="as found"):
        """Type what the dial shows of every line of a station, and save it."""
        for item in self.station(kind).items.all():
            planes = (0.0, FAR_MM) if item.is_tilt else (0.0,)
            shown = [self.shown(kind, reach, item.surface) for reach in planes]
            data = typed(shown, planes, phase, item.surface)
            url = reverse("alignment:sweep", args=[self.visit.pk, item.pk])
            answer = save_as_right(self.client, url, data)
            assert "Saved" in answer.text, text_of(answer)
        return text_of(answer)

    def adjust_page(self, kind):
        url = reverse("alignment:adjust", args=[self.visit.pk, self.station(kind).pk])
        return url, self.client.get(url, {"unit": "um"})

    def do_as_told(self, kind, way, *, by_axes=False, record=True):
        """Read the plan of one way, carry it out on the lathe, and ``record`` it as planned.

        Returns where the page says the station stands, and what it foretells the dial shows.
        """
        url, page = self.adjust_page(kind)
        text = text_of(page)
        if way == "screws":
            self._turn(kind, text)
        else:
            self._shift(kind, text, by_axes)
        if record:
            chosen = self.station(kind).ways.get(kind=way)
            answer = self.client.post(url, {"what": "as planned", "way": chosen.pk})
            assert answer.status_code == 302, text_of(answer)
        dials = {plan.way.kind: dial for plan, dial in page.context["move"].rows if dial}
        assert way != "screws" or dials["screws"].plane == f"in the plane at {FAR_MM:g} mm"
        told = text.split(f"The {self.station(kind)} stands")[1].split("seen from")[0]
        return vector_of(told), np.array([row.after_um for row in dials[way].rows])

    def surface(self, kind):
        """What is swept at a station for its offset."""
        return self.station(kind).items.exclude(quantity="tilt").first().surface

    def _shift(self, kind, text, by_axes):
        told = text.split(f"move the {self.station(kind)}")[1].split("Shift the casting")[0]
        vector = np.zeros(3)
        for size, words, axis, sign in re.findall(WAY, told):
            step = WORLD[words]
            if by_axes and axis:
                step = self.axes[axis] * (1 if sign == "+" else -1)
            vector += float(size) * step
        self.lathe.bodies[kind].shift(vector)

    def _turn(self, kind, text):
        turned = {}
        for hour, minute, degrees, sense in re.findall(
            r"Screw at (\d+):(\d+) o'clock (?:(\d+)° (clockwise|anticlockwise)|leave)", text
        ):
            turn = float(degrees or 0) * (1 if sense == "clockwise" else -1)
            turned[30.0 * int(hour) + int(minute) / 2] = turn / 360 * PITCH_MM / MM
        assert len(turned) == 3, text
        looks_away = self.views[kind][1] == "from the headstock"
        turn_screws(
            self.lathe, kind, PLANES[kind], turned, radius_mm=SCREW_RADIUS, looks_away=looks_away
        )

    def positions(self):
        """Kind of station to (front, up) off the page of positions."""
        page = self.client.get(reverse("alignment:placed", args=[self.machine.pk]))
        rows = re.findall(
            r'<th scope="row" role="rowheader">(.*?)</th>\s*<td[^>]*>(.*?)</td>', page.text
        )
        names = {station.name.capitalize(): station.kind for station in self.machine.stations.all()}
        return {names[html.unescape(name)]: vector_of(told) for name, told in rows}


def save_as_right(client, url, data):
    """Save what was typed; where it is asked about, say that it is right, and save it again.

    Returns the page that follows.
    """
    answer = client.post(url, data, follow=True)
    if button := re.search(r'name="show" value="(sure:[^"]+)"', answer.text):
        asked = {name: data[name] for name in data if name != "save"}
        told = client.post(url, asked | {"show": html.unescape(button[1])})
        data = data | {"sure": told.context["form"]["sure"].value()}
        answer = client.post(url, data, follow=True)
    return answer


def typed(shown, planes, phase, surface):
    """What a browser sends for sweeps whose readings were read off to a tenth of a µm."""
    data = {
        "phase": phase, "unit": "um", "layout": "4", "surface": surface, "sag_on": "bore",
        "sag": "", "lever": "", "reading_u": "0.3", "note": "", "sets": len(shown), "save": "check",
    }  # fmt: skip
    for number, (plane, readings) in enumerate(zip(planes, shown, strict=True), start=1):
        prefix = "readings" if number == 1 else f"readings{number}"
        data |= {f"{prefix}-TOTAL_FORMS": 4, f"{prefix}-INITIAL_FORMS": 0}
        data |= {f"{prefix}-z": f"{plane:g}"} if len(shown) > 1 else {}
        data |= {f"{prefix}-{n}-reading": f"{one:.1f}" for n, one in enumerate(readings)}
    return data


def text_of(answer):
    """A page as it is read: no tags, one space between words."""
    bare = re.sub(r"<[^>]+>", " ", answer.text)
    return " ".join(html.unescape(bare).split()).replace("\N{NO-BREAK SPACE}", " ")


def vector_of(words):
    """(front, up) in µm of a place told in words."""
    told = words.replace("\N{NO-BREAK SPACE}", " ")
    vector = np.zeros(3)
    for size, way, _axis, _sign in re.findall(WAY, told):
        vector += float(size) * WORLD[way]
    return float(vector @ FRONT), float(vector @ UP)
