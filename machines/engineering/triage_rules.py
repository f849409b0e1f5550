"""The tables triage works from. Everything here is common practice, no source, unless it says
otherwise; change a line here to change what triage says."""

# What can be reported, and how hard a hit was.
EVENTS = ("hit", "tool broken", "noise", "leak", "belt slipped", "drifting size", "other")
SEVERITIES = ("touch", "knock", "hard")
STATION_KINDS = (
    "headstock",
    "guide bushing",
    "sub-spindle",
    "back tools",
    "gang tools",
    "turret",
    "other",
)

# Stations that carry a spindle or guide the bar: moved, they throw out everything else.
SPINDLE_KINDS = frozenset({"headstock", "guide bushing", "sub-spindle"})

# Up to the tolerance, up to this many times the tolerance, and beyond.
FAR_BEYOND_TIMES = 10
# Without a tolerance on record, an offset from here on is far beyond any such machine's sheet.
FAR_BEYOND_UM = 250.0

FIRST_CAUTIONS = (
    "Lock out and discharge the machine before opening it: electric, air and hydraulic.",
    "The maker's manual and local rules come first; work on the drives needs a qualified person.",
)

CAUTIONS_BY_EVENT = {
    "hit": ("Broken carbide cuts: gloves and eye protection when clearing.",),
    "tool broken": ("Broken carbide cuts: gloves and eye protection when clearing.",),
    "leak": (
        "Oil on the floor: keep people off it. Cutting oil burns: no sparks, no open flame.",
        "Never feel for a leak by hand: oil under pressure goes through skin.",
    ),
    "belt slipped": ("Keep hands out of the belt run until the spindle cannot turn.",),
}

CAUTIONS_BY_KIND = {
    "guide bushing": (
        "A guide bushing housing that cocks is brought level with its three jack screws, never "
        "hammered out; at most tapped with a brass drift.",
    ),
}

CAUTION_DRIVES = (
    "Leave the stop bars and adjuster bolts that set the jack shaft square alone; a cocked jack "
    "shaft pinches as the headstock comes forward and eats bearings."
)

# Why an event alone stops the machine, whatever was measured.
STOPPING_EVENTS = {
    "belt slipped": "The guide bushing may be out of step with the main spindle and twist the bar.",
    "leak": "Where the oil comes from is not known yet.",
}

# Parts that carry the shock of a hit, by the kind of station that was hit.
PARTS_AFTER_A_HIT = {
    "headstock": (
        ("headstock spindle bearings", "they carry the shock of a hit on the spindle"),
        ("collet and drawtube", "a bent drawtube or a cracked collet runs out"),
    ),
    "guide bushing": (
        ("guide bushing", "its carbide chips or cracks when the housing is hit"),
        ("guide bushing housing bearings", "they carry the shock; feel and noise show it"),
        ("guide bushing housing bolts", "the housing is a separate casting and slips under them"),
        ("jack shaft", "it is coupled to the housing by a belt and can be cocked"),
    ),
    "sub-spindle": (
        ("sub-spindle bearings", "they carry the shock of a hit on the nose"),
        ("sub-spindle collet and drawtube", "a bent drawtube or a cracked collet runs out"),
    ),
    "back tools": (
        ("tool holders of the back tool station", "a sprung holder cuts off centre"),
        ("live tool drive of the back tool station", "its gears and bearings carry the shock"),
    ),
    "gang tools": (
        ("tool holders of the gang tool slide", "a sprung holder cuts off centre"),
        ("gang tool slide ways and gibs", "they carry the shock across the slide"),
    ),
    "turret": (
        ("turret coupling", "its teeth set the turret square and can chip or be thrown over"),
        ("tool holders of the turret", "a sprung holder cuts off centre"),
    ),
    "other": (("mounting bolts and dowels of the station", "they hold it in its place"),),
}

# Parts to look at for what else is reported; the same wherever it was.
PARTS_BY_EVENT = {
    "tool broken": (
        ("tool holder", "the break may have sprung it"),
        ("guide bushing", "fragments score it and jam the bar"),
    ),
    "noise": (
        ("bearings nearest the noise", "feel, temperature and vibration tell a worn one"),
        ("jack shaft", "cocked, it pinches and eats its bearings"),
    ),
    "leak": (("seals, hoses and fittings nearest the leak", "most leaks start there"),),
    "belt slipped": (
        ("pulleys and their keys", "a loose pulley slips as a worn belt does"),
        ("jack shaft", "cocked, it lets a belt run off"),
    ),
    "drifting size": (
        ("guide bushing", "worn or set wide, it lets the bar wander"),
        ("collet and drawtube", "a worn collet lets the bar creep"),
    ),
}

# Events after which every belt is looked at, with the reason.
BELTS_BY_EVENT = {
    "noise": "a damaged tooth knocks once each time round",
    "belt slipped": "a belt that slips has damaged teeth or too little tension",
    "drifting size": "a slack belt lets the spindles wander out of step",
}
