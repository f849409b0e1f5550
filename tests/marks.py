"""Tables that a command writes into DEVELOPERS.md, each between two marks of its own."""

from pathlib import Path

PAPER = Path(__file__).resolve().parents[1] / "DEVELOPERS.md"


def put(mark, lines):
    """Put lines between `<!-- mark -->` and `<!-- end of mark -->`; ValueError without either."""
    begin, end = f"<!-- {mark} -->", f"<!-- end of {mark} -->"
    before, rest = PAPER.read_text().split(begin)
    _old, after = rest.split(end)
    PAPER.write_text("\n".join((before + begin, *lines, end + after)))
