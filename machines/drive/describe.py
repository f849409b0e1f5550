"""Belts, bearings and assemblies in words and figures, as (label, text) pairs."""

from machines.engineering.belt_drives import ENOUGH_TEETH_IN_MESH, overall_ratio
from machines.engineering.belt_tension import span_frequency_hz
from machines.engineering.belts import PROFILES


def number(value, places=2):
    """A number without the zeros that say nothing: 25.00 is 25."""
    text = f"{float(value):,.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def known(pairs):
    """The pairs that have a text."""
    return [(label, text) for label, text in pairs if text]


def belt_facts(belt):
    """What a belt is: profile, pitch, teeth, width, weight, wanted tension, part."""
    profile = PROFILES.get(belt.profile)
    return known(
        [
            ("Drives", belt.drives),
            ("Profile", f"{belt.profile}{f', {profile.source}' if profile else ''}"),
            ("Pitch", belt.pitch_mm and f"{number(belt.pitch_mm, 3)} mm"),
            ("Teeth", belt.teeth and f"{belt.teeth}"),
            ("Width", belt.width_mm and f"{number(belt.width_mm)} mm"),
            ("Mass", belt.mass_kg_per_m and f"{number(belt.mass_kg_per_m, 4)} kg/m"),
            ("Pulleys", _pulleys(belt)),
            ("Tension wanted", _band(belt)),
            ("Replaced together with", belt.partner and str(belt.partner)),
            ("Part", belt.part and str(belt.part)),
            ("Not known yet", _unknown(belt)),
        ]
    )


UNKNOWN = {"profile": "profile", "teeth": "how many teeth", "width_mm": "width"}


def _unknown(belt):
    """What the next look at a belt asks for, in words."""
    names = ", ".join(UNKNOWN[name] for name in belt.unknown)
    return f"{names}; the next look asks for it" if names else ""


def _pulleys(belt):
    if belt.driving_teeth is None:
        return ""
    return f"{belt.driving_teeth} teeth driving, {belt.driven_teeth} driven"


def _band(belt):
    if not belt.wants_tension:
        return ""
    return f"{number(belt.tension_low_n, 1)} to {number(belt.tension_high_n, 1)} N"


def belt_geometry_facts(belt):
    """What follows from teeth and pulleys, and the notes to tune for; empty without pulleys."""
    geometry = belt.geometry
    if geometry is None:
        return []
    short = "" if geometry.enough_teeth_in_mesh else f" (at least {ENOUGH_TEETH_IN_MESH} should)"
    return known(
        [
            ("Pitch length", f"{number(geometry.pitch_length_mm)} mm"),
            ("Centre distance", f"{number(geometry.centre_distance_mm)} mm"),
            ("Free span", f"{number(belt.span)} mm{'' if belt.span_mm else ', from the pulleys'}"),
            (
                "Pitch diameters",
                f"{number(geometry.small_diameter_mm)} and {number(geometry.large_diameter_mm)} mm",
            ),
            ("Teeth in mesh", f"{number(geometry.teeth_in_mesh, 1)}{short}"),
            ("Belt frequency", _notes(belt)),
        ]
    )


def _notes(belt):
    """The frequencies between which the span rings when its tension is as wanted."""
    if not belt.wants_tension or belt.mass_kg_per_m is None:
        return ""
    low, high = (
        span_frequency_hz(float(belt.mass_kg_per_m), belt.span, float(tension))
        for tension in (belt.tension_low_n, belt.tension_high_n)
    )
    return f"{low:.1f} to {high:.1f} Hz when its tension is as wanted"


def path_of(belts):
    """The belts on the way from the main spindle to the guide bushing, in order."""
    return sorted((b for b in belts if b.place_in_path), key=lambda belt: belt.place_in_path)


def turns_in_step(belts):
    """The `TurnsRatio` from main spindle to guide bushing; None while it cannot be told."""
    path = path_of(belts)
    if not path or any(belt.driving_teeth is None for belt in path):
        return None
    return overall_ratio([(belt.driving_teeth, belt.driven_teeth) for belt in path])


def bearing_facts(bearing):
    """What a bearing is: designation, geometry, ratings, typical use, part."""
    return known(
        [
            ("Inside", bearing.assembly and f"{bearing.assembly}"),
            ("Designation", bearing.designation),
            ("Kind", bearing.get_kind_display()),
            ("Bore", bearing.bore_mm and f"{number(bearing.bore_mm, 3)} mm"),
            ("Geometry", _geometry(bearing)),
            ("Dynamic rating C", bearing.c_n and f"{number(bearing.c_n)} N"),
            ("Static rating C0", bearing.c0_n and f"{number(bearing.c0_n)} N"),
            ("Typical speed", bearing.speed_rpm and f"{number(bearing.speed_rpm)} rpm"),
            ("Typical load", bearing.load_n and f"{number(bearing.load_n)} N"),
            ("Part", bearing.part and str(bearing.part)),
        ]
    )


def _geometry(bearing):
    if not bearing.knows_its_geometry:
        return ""
    return (
        f"{bearing.balls} {bearing.kind}s of {number(bearing.ball_mm, 4)} mm on a pitch circle of "
        f"{number(bearing.pitch_mm, 4)} mm, contact angle {number(bearing.contact_deg)}°"
    )


def frequency_rows(bearing):
    """(part, multiple of the speed, Hz at the typical speed or a dash) of each defect frequency."""
    if not bearing.knows_its_geometry:
        return []
    multiples = bearing.frequencies_at(60)
    at_speed = bearing.frequencies_at(bearing.speed_rpm) if bearing.speed_rpm else None
    names = [
        ("outer ring (BPFO)", "outer_ring_hz"),
        ("inner ring (BPFI)", "inner_ring_hz"),
        ("ball spin (BSF)", "ball_spin_hz"),
        ("cage (FTF)", "cage_hz"),
    ]
    return [
        (
            label,
            f"{getattr(multiples, name):.4f}",
            f"{getattr(at_speed, name):.2f}" if at_speed else "–",
        )
        for label, name in names
    ]


def assembly_facts(assembly):
    """What is on record of a housing or jack shaft."""
    return known(
        [
            ("Preload", assembly.preload),
            (
                "Guide bushing renewed after",
                assembly.renew_after_h and f"{assembly.renew_after_h:,} spindle hours",
            ),
        ]
    )
