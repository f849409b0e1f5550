"""What a look at a bearing says, in words."""

from dataclasses import dataclass

from django.db.models import OuterRef, Subquery

from machines.engineering.bearings import match_peaks
from machines.register.models import said_first
from shop.lengths import format_length

from .describe import known, number
from .models import Bearing, BearingInspection


@dataclass(frozen=True)
class BearingLook:
    """A bearing with the look shown for it, None where there is none, and what that says."""

    bearing: Bearing
    inspection: BearingInspection | None
    sentence: str


def last_bearing_looks(bearings, unit, *, present_only=False, **where):
    """`bearings` with the newest standing look at each that fits `where`; two queries.

    present_only: leave out looks at a bearing that was replaced since.
    """
    looks = BearingInspection.objects.not_superseded()
    if present_only:
        looks = looks.of_present_bearings()
    newest = looks.filter(bearing=OuterRef("pk"), **where).newest_first().values("pk")[:1]
    bearings = list(bearings.annotate(newest_id=Subquery(newest)))
    found = BearingInspection.objects.select_related("visit", "made_by").in_bulk(
        [bearing.newest_id for bearing in bearings if bearing.newest_id]
    )
    return [_look(bearing, found.get(bearing.newest_id), unit) for bearing in bearings]


def _look(bearing, inspection, unit):
    if inspection is None:
        return BearingLook(bearing, None, "")
    inspection.bearing = bearing
    return BearingLook(bearing, inspection, sentence_of(inspection, unit))


def look_before(inspection):
    """The standing look at the same bearing before this one, None for the first; runs SQL."""
    until = said_first(inspection).made_at
    earlier = inspection.bearing.inspections.not_superseded().of_present_bearings()
    return earlier.filter(measured_at__lt=until).newest_first().first()


def findings_of(inspection, unit):
    """(label, text) of what was felt, heard and measured; lengths in `unit`."""
    return known(
        [
            ("Turned by hand", inspection.feel and inspection.get_feel_display()),
            ("It sounds", inspection.noise and inspection.get_noise_display()),
            ("Warmer than the room by", _degrees(inspection.temperature_rise_k)),
            ("Run-out", _runout(inspection, unit)),
            ("Vibration", inspection.zone and inspection.zone.sentence),
            (
                "Speed while measured",
                inspection.speed_rpm and f"{number(inspection.speed_rpm)} rpm",
            ),
            ("Peaks", _peaks(inspection)),
        ]
    )


def sentence_of(inspection, unit="mm"):
    """The look in one sentence."""
    said = [
        inspection.feel and f"feels {inspection.feel}",
        inspection.noise and f"sounds: {inspection.get_noise_display()}",
        inspection.runout_um is not None and f"run-out {_runout(inspection, unit)}",
        inspection.zone
        and f"{number(inspection.velocity_mm_s)} mm/s rms, zone {inspection.zone.zone}",
        inspection.temperature_rise_k is not None
        and f"{_degrees(inspection.temperature_rise_k)} warmer than the room",
    ]
    return ", ".join(word for word in said if word).capitalize() + "." if any(said) else "Noted."


def _degrees(rise):
    return None if rise is None else f"{number(rise, 1)} °C"


def _runout(inspection, unit):
    if inspection.runout_um is None:
        return None
    return format_length(inspection.runout_um, unit, with_unit=True)


def _peaks(inspection):
    """The measured peaks, each with the defect it fits at the speed it was measured at."""
    if not inspection.peaks_hz:
        return None
    listed = ", ".join(f"{peak:g}" for peak in inspection.peaks_hz) + " Hz. "
    speed = inspection.speed_rpm or inspection.bearing.speed_rpm
    if speed is None or not inspection.bearing.knows_its_geometry:
        return listed + "Geometry and speed are needed to say what they fit."
    matches = match_peaks(inspection.bearing.frequencies_at(speed), inspection.peaks_hz)
    if not matches:
        return listed + "None fits a defect of this bearing within 2 %."
    return listed + " ".join(_match(match) for match in matches)


def _match(match):
    order = "" if match.harmonic == 1 else f", times {match.harmonic}"
    return (
        f"{match.measured_hz:g} Hz fits the {match.part}{order} ({match.expected_hz:.1f} Hz "
        f"expected)."
    )
