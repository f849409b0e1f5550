"""Questions that people of the trade ask of the code, and the one place that answers each.

A hop is a file or folder one has to open, beginning with the room that the map in DEVELOPERS.md
names: the room, then the file in it.
"""

ANSWERS = {
    "Where is it decided that two damaged teeth mean replace?": (
        "machines.drive.rules.belts.damaged_or_worn_teeth"
    ),
    "Where is the uncertainty of a sweep composed?": (
        "alignment.geometry.measure.outcome.sweep_outcome"
    ),
    "Where is a drift sentence worded?": "alignment.drift.words.speed_words",
    "What makes a check stale?": "alignment.geometry.adjust.state.check_state",
    "Where is tax rounded?": "shop.billing.money.add_up",
    "Who is mailed when a machine stops?": "machines.incidents.notices.tell_it_stopped",
    "When is something due?": "machines.engineering.due.due",
    "Who may see a record?": "shop.people.access.find",
    "What freezes a row once it is signed?": "shop.audit.freezing.rules",
    "What counts as time down?": "machines.engineering.downtime.downtime",
    "Where does a verdict come from?": "alignment.geometry.measure.verdict.decide",
    "By how much is a station to be moved?": "alignment.adjusting.moves.planned_move",
}


def hops(path):
    """How many folders and files lie between an app and what `path` names."""
    return len(path.split(".")) - 2
