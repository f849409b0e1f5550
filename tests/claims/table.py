"""Hold every claim against its simulated worlds and write the results into DEVELOPERS.md.

Run with ``python -m tests.claims.table``; with ``--short`` in few runs, writing nothing.
"""

import sys

from tests.claims.rows import ROWS
from tests.marks import put

ERRORS = 2.0  # of its own that a share of the long form may lie outside
HEAD = (
    "| claim | what is counted | claimed | aim | found | runs | worst case tried |",
    "|---|---|---|---|---|---|---|",
)


def lines(short=False):
    """The table's rows as Markdown, one at a time."""
    for row in sorted(ROWS, key=lambda row: row.broken):
        founds = row.found(row.short if short else row.runs)
        worst = row.worst(founds)
        shares = [found.share for found in founds]
        missed = any(row.beyond(found) > ERRORS * found.error for found in founds)
        cells = (
            row.key,
            f"{row.what}{' (a world the model does not assume)' if row.broken else ''}",
            row.claimed,
            f"{_percent(row.low)} to {_percent(row.high)} %",
            _span(min(shares), max(shares)) + (" *" if missed else ""),
            f"{sum(found.told for found in founds):,}",
            f"{worst.words}: {_percent(worst.share)} ± {_percent(worst.error)} %",
        )
        yield f"| {' | '.join(cells)} |"


def _span(low, high):
    low, high = _percent(low), _percent(high)
    return f"{low} %" if low == high else f"{low} to {high} %"


def _percent(share):
    return f"{100 * share:.1f}".removesuffix(".0")


def main(short):
    rows = []
    for line in lines(short):
        print(line, flush=True)
        rows.append(line)
    if not short:
        put("claims", (*HEAD, *rows))


if __name__ == "__main__":
    main("--short" in sys.argv)
