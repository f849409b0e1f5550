"""A lathe in three dimensions, and an indicator on one of its axes reading another's surface.

Pure numpy, and nothing of the product: what is right is what happens here. The world is the
operator's: x to his right, y away from him, z up; so front is −y whatever anybody looks at, and
away from the headstock is +x where it stands at his left and −x where it stands at his right.
Points are in mm, offsets in µm.
"""

from dataclasses import dataclass, field

import numpy as np

UP = np.array([0.0, 0.0, 1.0])
FRONT = np.array([0.0, -1.0, 0.0])
RIGHT = np.array([1.0, 0.0, 0.0])
MM = 1e-3  # of a µm


def unit(vector):
    return vector / np.linalg.norm(vector)


@dataclass
class Body:
    """A station: a straight axis through ``point`` along ``direction``, away from the headstock."""

    point: np.ndarray
    direction: np.ndarray

    def at(self, away, distance_mm):
        """Where its axis passes the plane so far from the headstock's nose."""
        reach = (distance_mm - self.point @ away) / (self.direction @ away)
        return self.point + reach * self.direction

    def shift(self, vector_um):
        self.point = self.point + np.asarray(vector_um) * MM

    def turn(self, pivot, rotation):
        """Rotate about a point by a small rotation vector."""
        self.point = self.point + np.cross(rotation, self.point - pivot)
        self.direction = unit(self.direction + np.cross(rotation, self.direction))


@dataclass
class Lathe:
    """Stations by name, the headstock's axis through the origin."""

    headstock_side: str
    bodies: dict = field(default_factory=dict)

    @property
    def away(self):
        return RIGHT if self.headstock_side == "left" else -RIGHT

    def put(self, name, front_um, up_um, lean_front=0.0, lean_up=0.0, at_mm=0.0):
        """A station whose axis passes so far off the headstock's at a plane, leaning by so much
        (µm per 100 mm) going away from it."""
        off = front_um * FRONT + up_um * UP
        lean = (lean_front * FRONT + lean_up * UP) * MM / 100
        self.bodies[name] = Body(self.away * at_mm + off * MM, unit(self.away + lean))

    def truth(self, station, datum, at_mm):
        """(front, up) in µm of a station from another at a plane."""
        one, other = (self.bodies[name].at(self.away, at_mm) for name in (station, datum))
        return float((one - other) @ FRONT) / MM, float((one - other) @ UP) / MM

    def lean(self, station, datum):
        """(front, up) in µm per 100 mm by which a station leans from another going away."""
        one, other = (self.bodies[name].direction for name in (station, datum))
        one, other = one / (one @ self.away), other / (other @ self.away)
        return float((one - other) @ FRONT) * 100 / MM, float((one - other) @ UP) * 100 / MM


@dataclass(frozen=True)
class Indicator:
    """A lever indicator on an arm: how far it reaches, what it bends by, how its lever stands."""

    looks_away: bool
    sag_um: float = 0.0
    lever_deg: float = 0.0

    def sweep(self, lathe, carrier, swept, at_mm, angles_deg, *, surface="bore", radius_mm=12.0):
        """What it shows in µm at clock angles, as whoever holds it sees them, zeroed at the first.

        It turns with the body ``carrier`` and touches that of ``swept`` in the plane ``at_mm``.
        """
        look = lathe.away if self.looks_away else -lathe.away
        turns, touched = lathe.bodies[carrier], lathe.bodies[swept]
        hub = turns.at(lathe.away, at_mm)
        up = unit(UP - (UP @ turns.direction) * turns.direction)
        ahead = turns.direction * np.sign(turns.direction @ look)
        right = np.cross(ahead, up)
        shown = []
        for angle in np.radians(angles_deg):
            arm = up * np.cos(angle) + right * np.sin(angle)
            pushed = self._pushed(hub, arm, ahead, touched, surface, radius_mm)
            bent = self.sag_um * (1 - np.cos(angle)) / 2
            shown.append(pushed / MM / np.cos(np.radians(self.lever_deg)) + bent)
        return np.array(shown) - shown[0]

    def _pushed(self, hub, arm, ahead, touched, surface, radius_mm):
        """How far the plunger is pushed in, in mm, up to a constant."""
        if surface == "face":
            plane = touched.at(ahead, hub @ ahead + 5.0)
            start = hub + radius_mm * arm
            return -((plane - start) @ touched.direction) / (ahead @ touched.direction)
        reach = self._to_the_cylinder(hub, arm, touched, radius_mm)
        return -reach if surface == "bore" else reach

    @staticmethod
    def _to_the_cylinder(hub, arm, touched, radius_mm):
        """The length along ``arm`` from ``hub`` to a round surface about the touched axis."""
        flat = np.eye(3) - np.outer(touched.direction, touched.direction)
        start, way = flat @ (hub - touched.point), flat @ arm
        a, b, c = way @ way, start @ way, start @ start - radius_mm**2
        return (-b + np.sqrt(b * b - a * c)) / a


@dataclass(frozen=True)
class Bar:
    """A ground bar in the bore of ``held_in``, its free end away from the headstock or towards it.

    ``bent_um``: (front, up) by which its own axis is off per 100 mm towards the free end; turned by
    half a turn it is off the other way.
    """

    held_in: str
    to_headstock: bool = False
    bent_um: tuple = (0.0, 0.0)
    radius_mm: float = 15.0

    def body(self, lathe, turned):
        spindle = lathe.bodies[self.held_in]
        out = -spindle.direction if self.to_headstock else spindle.direction
        bent = (self.bent_um[0] * FRONT + self.bent_um[1] * UP) * MM / 100
        return Body(spindle.point, unit(out - bent if turned else out + bent))

    def read(self, lathe, slide, nose_mm, places_mm, side, *, turned=False):
        """What an indicator in µm shows that travels with the slide along ``slide``'s axis, at
        places from the nose to the free end, zeroed at the first; it touches from ``side``."""
        bar, travel = self.body(lathe, turned), lathe.bodies[slide]
        out = -1.0 if self.to_headstock else 1.0
        arm = {"top": UP, "front": FRONT, "rear": -FRONT}[side]
        shown = [
            Indicator._to_the_cylinder(
                travel.at(lathe.away, nose_mm + out * place), arm, bar, self.radius_mm
            )
            for place in places_mm
        ]
        return (np.array(shown) - shown[0]) / MM


def turn_screws(lathe, name, at_mm, screws, *, radius_mm, looks_away):
    """Turn jack screws by what each brings the casting towards the headstock (µm).

    ``screws``: clock angle to that length, as whoever looks along the machine sees the angles.
    The casting pivots about its axis in the plane ``at_mm``; only its tilt is told by the screws.
    """
    look = lathe.away if looks_away else -lathe.away
    right = np.cross(look, UP)
    theta = np.radians(list(screws))
    places = np.outer(np.sin(theta), right) + np.outer(np.cos(theta), UP)
    arms = radius_mm * np.column_stack([places @ FRONT, places @ UP])
    level = np.column_stack([np.ones(len(theta)), arms])
    rise = np.linalg.lstsq(level, np.array(list(screws.values())) * MM, rcond=None)[0]
    tilt = rise[1] * FRONT + rise[2] * UP
    body = lathe.bodies[name]
    body.turn(body.at(lathe.away, at_mm), np.cross(lathe.away, tilt))
