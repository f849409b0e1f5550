"""Procedure cards: what is done at each kind of station to prepare, to measure and to refit.

Common practice, no source. A card does not replace the maker's manual, local rules or licensed
practice; its first step says so.
"""

from dataclasses import dataclass

from alignment.sheets.cautions import (
    BELT_OFF,
    BY_HAND,
    CLEARING,
    HOUSING,
    JACK_SHAFT,
    LOCK_OUT,
    MANUAL_FIRST,
)
from machines.register.models import Station

PREPARE, MEASURE, REFIT = "Prepare", "Measure", "Refit"
PARTS = (PREPARE, MEASURE, REFIT)
Kind = Station.Kind


@dataclass(frozen=True)
class Step:
    """One step; `key` stays the same for good, since ticks are kept under it.

    cautions: what to mind while doing it. belts: whether belts are off, so their teeth are due.
    """

    key: str
    part: str
    words: str
    cautions: tuple[str, ...] = ()
    belts: bool = False


LOCKED = Step("locked-out", PREPARE, "Machine locked out and discharged.", (LOCK_OUT, MANUAL_FIRST))
CLEARED = Step("cleared", PREPARE, "Place cleared of chips, oil and broken tools.", (CLEARING,))
CLEAN = Step("clean", PREPARE, "Swept surface and seats wiped clean and looked at for burrs.")
WARM = Step("settled", PREPARE, "Machine at rest long enough to be at the room's temperature.")
MOUNTED = Step(
    "mounted", MEASURE, "Indicator mounted stiffly; zero comes back when its tip is lifted."
)
SAG = Step("sag", MEASURE, "Sag of the bar checked, top to bottom, and typed in.")
SWEPT = Step("swept", MEASURE, "Swept once round; the zero came back at the top.", (BY_HAND,))
AGAIN = Step("again", MEASURE, "Swept a second time; the readings agree.", (BY_HAND,))
TIGHT = Step("tight", REFIT, "Bolts tightened crosswise to the maker's torque.", (MANUAL_FIRST,))
AFTER = Step("after-tightening", REFIT, "Swept again after tightening: nothing moved.", (BY_HAND,))
COVERS = Step("covers", REFIT, "Covers and guards back on, tools counted.")
RELEASED = Step("released", REFIT, "Lock taken off by who put it on.", (LOCK_OUT,))

HOUSING_STEPS = (
    Step("bushing-out", PREPARE, "Guide bushing taken out of its housing."),
    Step(
        "belt-off", PREPARE, "Belt off the guide bushing: its teeth looked at.", (BELT_OFF,), True
    ),
    Step("jack-shaft", PREPARE, "Jack shaft's stop bars and bolts left alone.", (JACK_SHAFT,)),
)
HOUSING_REFIT = (
    Step("square", REFIT, "Housing brought level with its three jack screws.", (HOUSING,)),
    Step("belt-on", REFIT, "Belt back on, both shafts in step, tension measured."),
    Step("bushing-in", REFIT, "Guide bushing back in and set to the bar."),
)
COLLET_OUT = Step("collet-out", PREPARE, "Collet and its sleeve taken out, seat wiped.")
COLLET_IN = Step("collet-in", REFIT, "Collet back in; its run-out looked at with a pin.")
TOOLS_OUT = Step("tools-out", PREPARE, "Tools and holders taken out, their places written down.")
TOOLS_IN = Step("tools-in", REFIT, "Tools back in their places; offsets looked through.")
PARKED = Step("parked", PREPARE, "Slide brought to its measuring place, then power locked out.")

_START = (LOCKED, CLEARED)
_SWEEP = (MOUNTED, SAG, SWEPT, AGAIN)
_END = (COVERS, RELEASED)
_MOVED = (TIGHT, AFTER)
_USUAL = (*_START, CLEAN, WARM, *_SWEEP, *_MOVED, *_END)

CARDS = {
    Kind.HEADSTOCK: (*_START, COLLET_OUT, CLEAN, WARM, *_SWEEP, COLLET_IN, *_END),
    Kind.GUIDE_BUSHING: (
        *_START,
        *HOUSING_STEPS,
        CLEAN,
        WARM,
        *_SWEEP,
        HOUSING_REFIT[0],
        *_MOVED,
        *HOUSING_REFIT[1:],
        *_END,
    ),
    Kind.SUB_SPINDLE: (*_START, COLLET_OUT, CLEAN, WARM, *_SWEEP, *_MOVED, COLLET_IN, *_END),
    Kind.BACK_TOOLS: (*_START, TOOLS_OUT, CLEAN, WARM, *_SWEEP, *_MOVED, TOOLS_IN, *_END),
    Kind.GANG_TOOLS: (PARKED, *_START, TOOLS_OUT, CLEAN, *_SWEEP, *_MOVED, TOOLS_IN, *_END),
    Kind.TURRET: (PARKED, *_START, TOOLS_OUT, CLEAN, *_SWEEP, *_MOVED, TOOLS_IN, *_END),
    Kind.OTHER: _USUAL,
}


def card_of(station):
    """The `Step`s of a station's card, in order."""
    return CARDS[Kind(station.kind)]


def step_of(station, key):
    """The step of a station's card that `key` names, None where there is none."""
    return next((step for step in card_of(station) if step.key == key), None)
