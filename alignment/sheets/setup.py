"""How a station is measured: where the indicator sits, which way it looks, and what is usual."""

from dataclasses import dataclass

from machines.register.models import Station

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


def usual_setup(kind):
    """The `Setup` that is usual for a kind of station."""
    return USUAL[Kind(kind)]


def is_unusual(kind, setup):
    """Whether a `Setup` contradicts the kind; of "other" stations nothing is usual."""
    return kind != Kind.OTHER and setup != usual_setup(kind)
