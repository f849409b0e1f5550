"""Questions that people of the trade ask of the code, and the one place that answers each.

A hop is a file or folder one has to open, beginning with the room that the map in DEVELOPERS.md
names: the room, then the file in it. What lies deeper is two hops away as well where the room's
docstring names it.
"""

import ast
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]

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
    """How many folders and files one opens from an app to what `path` names."""
    app, room, *inside = path.split(".")
    if ".".join(inside) in told_by(app, room):
        return 2
    return len(inside)


def told_by(app, room):
    """What the docstring of a room says, "" for a room that is a file."""
    said = ROOT / app / room / "__init__.py"
    return ast.get_docstring(ast.parse(said.read_text())) or "" if said.exists() else ""
