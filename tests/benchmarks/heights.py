"""Measure how high every page is for every role and write it into DEVELOPERS.md.

Run with ``python -m tests.benchmarks.heights``; it needs Chromium.
"""

from tests.benchmarks.noted import notes_of
from tests.marks import put

# Screens of a page that people come back to, at 360 × 740 and at 1280 × 900, before anything is
# opened.
PHONE_PX, DESK_PX = 740, 900
# Lower pages are not told, but for those with an aim.
LOW_PX = 2 * PHONE_PX
AIMS = {"machines:machine": (5, 2), "home": (2, 1), "shop:visit": (3, 2)}


def table(notes):
    """One row a page, the highest on a phone first; a cell for each role that is led there."""
    roles = list(dict.fromkeys(one["role"] for one in notes))
    pages = {}
    for one in notes:
        pages.setdefault(one["page"], {})[one["role"]] = one
    yield f"| page | {' | '.join(f'{role}: phone, desk, words first' for role in roles)} |"
    yield f"|---|{'---|' * len(roles)}"
    for page, of_role in sorted(pages.items(), key=_highest):
        if page not in AIMS and max(one["phone"] for one in of_role.values()) <= LOW_PX:
            continue
        cells = [_cell(page, of_role[role]) if role in of_role else "" for role in roles]
        yield f"| {page} | {' | '.join(cells)} |"


def _highest(entry):
    return -max(one["phone"] for one in entry[1].values()), entry[0]


def _cell(page, one):
    phone, desk = AIMS.get(page, (float("inf"), float("inf")))
    words = "none to do" if one["words"] is None else one["words"]
    return f"{_held(one['phone'], phone * PHONE_PX)}, {_held(one['desk'], desk * DESK_PX)}, {words}"


def _held(value, aim):
    return f"{value:,}" if value <= aim else f"{value:,} *"


if __name__ == "__main__":
    put("heights", table(notes_of("tests/browser/test_page_heights.py")))
