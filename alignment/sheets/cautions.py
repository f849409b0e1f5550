"""The usual cautions, shown where the step is done.

Common practice, no source. They do not replace the maker's manual, local rules or licensed
practice, and say so.
"""

from machines.register.models import Station

LOCK_OUT = (
    "Lock out and discharge the machine before anything is opened: electric, air and hydraulic."
)
MANUAL_FIRST = "The maker's manual and local rules come first; leave the drives to who may do them."
CLEARING = "Broken carbide cuts: gloves and eye protection when clearing the place."
BY_HAND = "Turn the spindle by hand only while the indicator is on, and keep clear of the belts."
HOUSING = (
    "A guide bushing housing that cocks is brought level with its three jack screws, never "
    "hammered out; at most it is tapped with a brass drift."
)
JACK_SHAFT = (
    "Do not touch the stop bars and adjuster bolts that set the jack shaft square: a cocked jack "
    "shaft pinches as the headstock comes forward and eats bearings."
)
BELT_OFF = "Whenever a belt is off, look at its teeth."

AFTER_A_CRASH = (LOCK_OUT, CLEARING, MANUAL_FIRST)
SWEEPING = (LOCK_OUT, BY_HAND)


def before_moving(station):
    """What to mind before a station is moved."""
    of_kind = (HOUSING, JACK_SHAFT, BELT_OFF) if station.kind == Station.Kind.GUIDE_BUSHING else ()
    return [LOCK_OUT, MANUAL_FIRST, *of_kind]
