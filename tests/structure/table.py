"""Measure how the code is laid out and write the table into DEVELOPERS.md.

Run with ``python -m tests.structure.table``.
"""

from tests.marks import put
from tests.structure.measuring import (
    hook_entries,
    lines_by_room,
    longest_chain,
    names_that_stand_twice,
)
from tests.structure.questions import ANSWERS, hops
from tests.structure.reading_path import files_passed


def rooms():
    """Files and lines of each room, as Markdown."""
    yield "| room | files | lines |"
    yield "|---|---|---|"
    found = lines_by_room()
    for room, (files, lines) in found.items():
        yield f"| `{room}` | {files} | {lines:,} |"
    files, lines = (sum(column) for column in zip(*found.values(), strict=True))
    yield f"| all | {files} | {lines:,} |"


def questions():
    """Where each trade question is answered, as Markdown."""
    yield "| question | answered in | hops |"
    yield "|---|---|---|"
    for question, path in ANSWERS.items():
        yield f"| {question} | `{path}` | {hops(path)} |"


def figures():
    """Chains of imports, names and hooks, as sentences."""
    hooks = hook_entries()
    twice = names_that_stand_twice()
    yield (
        f"One reading passes {len(files_passed())} files from its box to the verdict; "
        f"the longest chain of imports passes {len(longest_chain())} modules; "
        f"{len(twice)} class names stand more than once, no two of them in one module; "
        f"{sum(hooks.values())} dotted paths stand in {len(hooks)} lists of the settings."
    )


def write():
    """Put all of it between its marks in DEVELOPERS.md."""
    put("structure", [*questions(), "", *rooms(), "", *figures()])


if __name__ == "__main__":
    write()
