"""Tables that a command writes into DEVELOPERS.md, each between two marks of its own."""

from pathlib import Path

PAPER = Path(__file__).resolve().parents[2] / "DEVELOPERS.md"


def put(mark, lines):
    """Put lines between `<!-- mark -->` and `<!-- end of mark -->`."""
    begin, end = f"<!-- {mark} -->", f"<!-- end of {mark} -->"
    before, _, rest = PAPER.read_text().partition(begin)
    after = rest.partition(end)[2]
    PAPER.write_text(f"{before}{begin}\n" + "\n".join(lines) + f"\n{end}{after}")
