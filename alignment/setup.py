"""How a station is measured: where the indicator sits, which way it looks, and what is usual."""

from dataclasses import dataclass

from .models import Adjustment, Check, Station

Kind, Holder, Look = Station.Kind, Station.Holder, Station.Look


@dataclass(frozen=True)
class Setup:
    """Where the indicator sits and which way it looks."""

    indicator_in: str
    look: str


OUTWARDS = Setup(Holder.DATUM, Look.FROM_HEADSTOCK)
# Common practice, no source: the sub-spindle holds the indicator itself and looks back at its
# datum; everything else is swept from its datum, looking away from the headstock.
USUAL = dict.fromkeys(Kind, OUTWARDS) | {Kind.SUB_SPINDLE: Setup(Holder.STATION, Look.TO_HEADSTOCK)}

# What the figures of a check mean rests on these.
MEANING = ("datum", "indicator_in", "look", "plane_mm")


def usual_setup(kind):
    """The `Setup` that is usual for a kind of station."""
    return USUAL[Kind(kind)]


def is_unusual(kind, setup):
    """Whether a `Setup` contradicts the kind; of "other" stations nothing is usual."""
    return kind != Kind.OTHER and setup != usual_setup(kind)


def signed_checks_rest_on(station):
    """Whether a signed check was measured at a station as it is set up."""
    return Check.objects.filter(item__station=station, visit__signed_at__isnull=False).exists()


def signed_checks_tell_a_side(machine):
    """Whether a signed check or adjustment of a machine says front or rear by a dial's view.

    All do but the height of a flat; adjustments only where they were entered in that view.
    """
    signed = Check.objects.filter(item__station__machine=machine, visit__signed_at__isnull=False)
    turned = Adjustment.objects.filter(
        station__machine=machine, visit__signed_at__isnull=False, right_um__isnull=False
    )
    return signed.exclude(item__surface="flat", item__quantity="up").exists() or turned.exists()


def means_otherwise(station, said):
    """Whether what is said of a station gives its checks another meaning.

    said: a mapping of field names, `MEANING` among them, to their values.
    """
    return any(said[name] != getattr(station, name) for name in MEANING if name in said)
