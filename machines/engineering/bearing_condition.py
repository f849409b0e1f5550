"""How a bearing runs today: vibration zone, and run-out that grows from visit to visit."""

from __future__ import annotations

from dataclasses import dataclass

from .inputs import not_negative, positive

ZONE_MEANINGS = {
    "A": "as a machine newly put to work",
    "B": "fit to run on without restriction",
    "C": "not fit for long running; run only until it can be put right",
    "D": "likely to do damage",
}


@dataclass(frozen=True)
class ZoneLimits:
    """Upper limits of zones A, B and C in mm/s rms, and where they come from."""

    a_mm_s: float
    b_mm_s: float
    c_mm_s: float
    source: str

    def __post_init__(self):
        limits = [
            positive(getattr(self, f"{zone}_mm_s"), f"The limit of zone {zone.upper()}", "mm/s")
            for zone in "abc"
        ]
        if not limits[0] < limits[1] < limits[2]:
            shown = ", ".join(f"{limit:g}" for limit in limits)
            raise ValueError(f"Zone limits must rise from A to C, not {shown} mm/s.")


_NOT_SEEN = "quoted by others; the standard's own text was not seen"

# Published copies disagree on several groups; these are the sets on which independent copies
# agree. A shop sets its own limits where it knows better.
ZONE_LIMITS = {
    "group 2, rigid": ZoneLimits(
        1.4, 2.8, 4.5, f"ISO 10816-3 (now ISO 20816-3) group 2, rigid support, {_NOT_SEEN}"
    ),
    "group 2, flexible": ZoneLimits(
        2.3, 4.5, 7.1, f"ISO 10816-3 (now ISO 20816-3) group 2, flexible support, {_NOT_SEEN}"
    ),
    "class I": ZoneLimits(
        0.71, 1.8, 4.5, f"ISO 10816-1 class I, machines up to 15 kW, from memory and {_NOT_SEEN}"
    ),
}

# Group 2 is meant for machines above 15 kW; smaller spindles borrow it as a starting point.
DEFAULT_LIMITS = ZONE_LIMITS["group 2, rigid"]


@dataclass(frozen=True)
class ZoneReading:
    """A vibration velocity in its zone A to D; a value on a limit is still in the better zone."""

    velocity_mm_s: float
    zone: str
    limits: ZoneLimits

    @property
    def sentence(self) -> str:
        return (
            f"{self.velocity_mm_s:g} mm/s rms, zone {self.zone}: {ZONE_MEANINGS[self.zone]} "
            f"(limits: {self.limits.source})."
        )


def vibration_zone(velocity_mm_s: float, limits: ZoneLimits = DEFAULT_LIMITS) -> ZoneReading:
    """The zone of a vibration velocity (mm/s rms, measured on the housing).

    ValueError for a negative velocity.
    """
    velocity = not_negative(velocity_mm_s, "The vibration velocity", "mm/s")
    bounds = (limits.a_mm_s, limits.b_mm_s, limits.c_mm_s)
    zone = next((z for z, bound in zip("ABC", bounds, strict=True) if velocity <= bound), "D")
    return ZoneReading(velocity, zone, limits)
