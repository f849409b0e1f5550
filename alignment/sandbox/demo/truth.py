"""Where the demo's stations really sit: what nobody at the shop can see but by measuring it."""

import math

import numpy as np

from machines.register.models import Station

Kind = Station.Kind
# µm per month to the front and upwards, of a station's own seat: believable, invented.
CREEP_UM_PER_MONTH = {
    Kind.GUIDE_BUSHING: (0.18, -0.12),
    Kind.SUB_SPINDLE: (-0.35, 0.2),
    Kind.BACK_TOOLS: (0.3, -0.45),
    Kind.GANG_TOOLS: (0.55, -0.4),
    Kind.TURRET: (-0.6, -0.5),
}
# How a housing stands to its datum's axis before anybody lives with it, µm per 100 mm; invented.
TILT_UM, TILT_WANDER_UM = 2.5, 0.3
# Each seat also wanders a little from visit to visit.
WANDER_UM = 0.5
DAYS_PER_MONTH = 30.4


class Truth:
    """The axes of a machine's stations as vectors (front, up) in µm from the headstock's axis.

    The headstock's own vector is the run-out of its collet seat.
    """

    def __init__(self, stations, start_um, seed):
        """stations: in checking order. start_um: station kind to how far it is off its datum."""
        self.rng = np.random.default_rng(seed)
        self.pace = self.rng.uniform(0.6, 1.5)
        self.datum = {s.kind: s.datum.kind if s.datum else None for s in stations}
        self.at = {}
        for kind, datum in self.datum.items():
            self.at[kind] = self._from(datum) + self._some_vector(start_um[kind])
        self.tilt = {kind: self._some_vector(TILT_UM) for kind in self.datum}

    def _from(self, datum):
        """Where a station's datum sits; the headstock's axis is the origin of all."""
        return np.zeros(2) if datum in (None, Kind.HEADSTOCK) else self.at[datum]

    def _some_vector(self, size):
        angle = self.rng.uniform(0, 2 * math.pi)
        return size * np.array([math.sin(angle), math.cos(angle)])

    def offset(self, kind):
        """The station's axis seen from its datum's, (front, up) in µm."""
        return self.at[kind] - self._from(self.datum[kind])

    def age(self, days):
        """Let the machine run for some days: every seat creeps its way and wanders a little."""
        for kind in self.at:
            creep = np.array(CREEP_UM_PER_MONTH.get(kind, (0.02, 0.01)))
            wander = self.rng.normal(0, WANDER_UM if kind in CREEP_UM_PER_MONTH else 0.05, 2)
            self.at[kind] = self.at[kind] + self.pace * creep * days / DAYS_PER_MONTH + wander
            self.tilt[kind] = self.tilt[kind] + self.rng.normal(0, TILT_WANDER_UM, 2)

    def knock(self, kind, front_um, up_um, tilt_um=(0.0, 0.0)):
        """Shift a station and cock it by so much per 100 mm, as a crash does."""
        self.at[kind] = self.at[kind] + np.array([front_um, up_um])
        self.tilt[kind] = self.tilt[kind] + np.array(tilt_um)

    def adjust(self, kind, leave_um):
        """Bring a station back to about `leave_um` off its datum; returns the move made."""
        before = self.at[kind]
        self.at[kind] = self._from(self.datum[kind]) + self._some_vector(leave_um)
        self.tilt[kind] = self._some_vector(TILT_UM)
        return self.at[kind] - before
