"""Count presses, taps and page loads of the five-station walk and write them into DEVELOPERS.md.

Run with ``python -m tests.benchmarks.walk``; it needs Chromium.
"""

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PAPER = ROOT / "DEVELOPERS.md"
BEGIN, END = "<!-- walked -->", "<!-- end of walked -->"
# Of four readings in tenths with their signs, and of five stations as found.
MOST_PRESSES_A_SWEEP, MOST_LOADS = 14, 5


def walked():
    """What each walk noted; ends with pytest's exit code where one failed."""
    with tempfile.TemporaryDirectory() as folder:
        notes = Path(folder) / "notes"
        command = [sys.executable, "-m", "pytest", "-n", "0", "-m", "browser"]
        done = subprocess.run(
            [*command, "tests/browser/test_walk_counts.py"],
            cwd=ROOT,
            check=False,
            env=os.environ | {"SWEEPBOOK_WALK": str(notes)},
        )
        if done.returncode:
            sys.exit(done.returncode)
        return [json.loads(line) for line in notes.read_text().splitlines()]


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


def write(notes):
    """Put the table between its marks in DEVELOPERS.md."""
    text = PAPER.read_text()
    before, _, rest = text.partition(BEGIN)
    _, _, after = rest.partition(END)
    PAPER.write_text(f"{before}{BEGIN}\n" + "\n".join(table(notes)) + f"\n{END}{after}")


if __name__ == "__main__":
    write(walked())
