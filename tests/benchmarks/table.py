"""Measure everything and write the results as a table into DEVELOPERS.md.

Run with ``python -m tests.benchmarks.table``. The first time it writes a fleet of 10,000 machines
(`SWEEPBOOK_MACHINES`) beside the data, which takes minutes; it is kept and used again. Times are
processor time but for the people at once, so a busy machine bends the ratios little.
"""

import json
import os
import subprocess
import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path

from tests.marks import put

ROOT = Path(__file__).resolve().parents[2]
MOST_QUERIES, MOST_OF_FLOOR, MOST_GROWTH, MOST_OF_DRAWING = 12, 1.5, 1.2, 2.0


def measured():
    """What each benchmark noted; ends with pytest's exit code where one failed."""
    with tempfile.NamedTemporaryFile(suffix=".json") as file:
        command = [
            *(sys.executable, "-m", "pytest", "tests/benchmarks", "-n", "0"),
            *("--benchmark-enable", "--benchmark-only", f"--benchmark-json={file.name}"),
        ]
        done = subprocess.run(command, cwd=ROOT, check=False)
        if done.returncode:
            sys.exit(done.returncode)
        return [one["extra_info"] for one in json.load(file)["benchmarks"]]


def pages_table(notes):
    """Queries, time against the floor and growth of each page, as Markdown."""
    yield "| page | seen | queries | ms | × floor | growth | after a change, ms |"
    yield "|---|---|---|---|---|---|---|"
    for note in notes:
        ratios = [
            page / floor for page, floor in zip(note["page_ms"], note["floor_ms"], strict=True)
        ]
        growth = note["page_ms"][-1] / note["page_ms"][0]
        cells = [
            note["what"],
            _each(f"{count:,}" for count in note["machines"]),
            _held(max(note["queries"]), MOST_QUERIES, _each(map(str, note["queries"]))),
            _each(f"{taken:.0f}" for taken in note["page_ms"]),
            _held(max(ratios), MOST_OF_FLOOR, _each(f"{ratio:.1f}" for ratio in ratios)),
            _held(growth, MOST_GROWTH, f"{growth:.1f}"),
            _each(f"{taken:.0f}" for taken in note["changed_ms"]),
        ]
        yield f"| {' | '.join(cells)} |"


def others_table(notes):
    """What is held against one floor, as Markdown."""
    yield "| what | ms | floor, ms | ratio |"
    yield "|---|---|---|---|"
    for note in notes:
        ratio = note["ms"] / note["floor"]
        aim = MOST_OF_DRAWING if note["what"] == "service report" else float("inf")
        cells = (note["what"], f"{note['ms']:.0f}", f"{note['floor']:.0f}")
        yield f"| {' | '.join((*cells, _held(ratio, aim, f'{ratio:.1f}')))} |"


def _each(words):
    return " / ".join(words)


def _held(value, aim, words):
    """The words, marked where the aim is missed."""
    return words if value <= aim else f"{words} *"


def write(notes):
    """Put both tables between their marks in DEVELOPERS.md."""
    load = os.getloadavg()[0]
    pages = [note for note in notes if "page_ms" in note]
    others = [note for note in notes if "ms" in note]
    lines = [
        f"Measured on {datetime.now(UTC):%d %B %Y} on {os.cpu_count()} processors at a load of "
        f"{load:.1f}. An asterisk marks a missed aim: at most {MOST_QUERIES} queries a page, "
        f"{MOST_OF_FLOOR} times its floor and {MOST_GROWTH} times from the fewest machines to the "
        f"most; {MOST_OF_DRAWING:.0f} times the drawing for a document.",
        "",
        *pages_table(pages),
        "",
        *others_table(others),
    ]
    put("measured", lines)


if __name__ == "__main__":
    write(measured())
