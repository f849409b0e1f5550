"""Count presses, taps and page loads of the five-station walk and write them into DEVELOPERS.md.

Run with ``python -m tests.benchmarks.walk``; it needs Chromium.
"""

from tests.benchmarks.noted import notes_of
from tests.marks import put

# Of four readings in tenths with their signs, and of five stations as found.
MOST_PRESSES_A_SWEEP, MOST_LOADS = 14, 5


def table(notes):
    """The counts as Markdown, marked where an aim is missed."""
    yield "| screen | readings | | stations | key presses | taps | page loads | presses a sweep |"
    yield "|---|---|---|---|---|---|---|---|"
    for note in notes:
        each = note["presses"] / note["stations"]
        cells = [
            note["screen"],
            str(note["points"]),
            note["phase"],
            str(note["stations"]),
            str(note["presses"]),
            str(note["taps"]),
            _held(note["loads"], MOST_LOADS),
            _held(each, MOST_PRESSES_A_SWEEP) if note["points"] == 4 else f"{each:g}",
        ]
        yield f"| {' | '.join(cells)} |"


def _held(value, aim):
    return f"{value:g}" if value <= aim else f"{value:g} *"


if __name__ == "__main__":
    put("walked", table(notes_of("tests/browser/test_walk_counts.py")))
